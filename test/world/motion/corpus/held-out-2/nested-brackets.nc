(Blatt (oben) 120 x 60 (3 mm))
G21 G90
G0 X20 Y20 (start (lead in))
M3
G1 X80 F2400 (unten [rechts])
Y60 (#2)
X20
Y20
M5
M2 (ende)
