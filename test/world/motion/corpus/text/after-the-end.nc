%
G21 G90
G0 X20 Y20
M3
G1 X100 F2400
Y50
X20
Y20
M5
M30
%
material: mild steel, 3 mm
pieces: 1
