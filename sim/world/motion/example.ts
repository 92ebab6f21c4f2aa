/** Name of the example program, for messages. */
export const EXAMPLE_NAME = 'hinge-plates.nc';

/**
 * An invented job: hinge plates for a garden gate. The paths are those of the middle of the kerf, so an outside
 * path stands 0.75 mm off the part and a hole is cut 0.75 mm inside its edge.
 */
export const EXAMPLE_PROGRAM = `%
(hinge plates for a garden gate: an invented example)
(3 mm mild steel, sheet 600 x 400 mm, origin at its lower left corner)
(paths are the middle of a kerf of 1.5 mm; G4 lets the torch rise)
G21 G90 G17 G40 G54 G80 G94

(plate 1, 120 x 60 mm, rounded towards the gate; hole of 8 mm, left below)
G0 X58 Y55
M3
G1 X61.25 F1500
G3 I-3.25 J0
G3 X60.814 Y56.625 I-3.25 J0
M5
G4 P0.8
(hole of 8 mm, left above)
G0 X58 Y85
M3
G1 X61.25 F1500
G3 I-3.25 J0
G3 X60.814 Y86.625 I-3.25 J0
M5
G4 P0.8
(hole of 16 mm for the bolt)
G0 X125 Y70
M3
G1 X132.25 F2400
G3 I-7.25 J0
G3 X131.279 Y73.625 I-7.25 J0
M5
G4 P0.8
(outline, clockwise; two square corners, two rounded ones)
G0 X31.25 Y66
M3
G1 X39.25 F3000
Y100.75
X148
G2 X160.75 Y88 I0 J-12.75
G1 Y52
G2 X148 Y39.25 I-12.75 J0
G1 X39.25
Y66
X33.25 Y70
M5
G4 P0.8

(plate 2, a tapered strap of 120 x 60 mm; hole of 8 mm, left)
G0 X320 Y222
M3
G1 X323.25 F1500
G3 I-3.25 J0
G3 X322.814 Y223.625 I-3.25 J0
M5
G4 P0.8
(hole of 8 mm, right)
G0 X402 Y222
M3
G1 X405.25 F1500
G3 I-3.25 J0
G3 X404.814 Y223.625 I-3.25 J0
M5
G4 P0.8
(hole of 16 mm for the bolt)
G0 X361 Y222
M3
G1 X368.25 F2400
G3 I-7.25 J0
G3 X367.279 Y225.625 I-7.25 J0
M5
G4 P0.8
(outline, clockwise; the taper falls by 45 degrees)
G0 X291.25 Y215
M3
G1 X299.25 F3000
Y260.75
X390
X420.75 Y230
Y199.25
X299.25
Y215
X293.25 Y219
M5
G4 P0.8

(parting cut through plate 2: crosses the kerf of its outline)
(on the left side at 90 degrees, on the taper at 45 degrees)
G0 X150 Y250
M3
G1 X480 F3000
M5
G4 P0.8

(straight cut that leaves the sheet on the right by 2 mm)
G0 X330 Y120
M3
G1 X602 F3000
M5
G4 P0.8
G0 X0 Y0
M30
%
`;
