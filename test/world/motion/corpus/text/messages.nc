(MSG, put the sheet against the stops)
G21 (millimetres) G90 (absolute)
(MSG, plate 1 of 1; 80 x 30 [mm] #1 = G41 O100 sub)
G0 (to) X20 (the) Y20 (start)
M3
()
G1 X100 F2400 (bottom)
Y50 (debug, nothing)
X20
Y20
M5
M2
