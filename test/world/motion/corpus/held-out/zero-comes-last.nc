g90 g20 g64
g92 x0 y0 z0
g0 x1. y1.
m3 s1
g4 p.5
g1 x4. f90.
y2.5
x1.
y1.
m5
g0 x0. y0.
g92.2
m30
