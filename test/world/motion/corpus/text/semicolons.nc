; hinge plate
; 80 x 30
G21 ; millimetres
G90 ; absolute
G0 X20 Y20 ; to the start
M3 ; torch (on)
G1 X100 F2400;no space
Y50
X20 ;
Y20
;
M5;
M2 ; end
