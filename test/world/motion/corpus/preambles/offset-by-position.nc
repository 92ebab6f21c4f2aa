(corner of the sheet is found by hand, and set)
G21 G90
G0 X35 Y45
G10 L20 P1 X0 Y0
G54 G0 X0 Y0
M3
G1 X70 F2400
Y35
X0
Y0
M5
M2
