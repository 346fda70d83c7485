#!/usr/bin/env python3
# Golden bilinear/linear table look-up data. Run: python3 interp.py > interp.csv
# Debian python3-scipy 1.10.1-2, python3-numpy 1.24.2. Table is synthetic; z[i][j] at (x=rpm[i], y=throttle[j]).
import numpy as np
from scipy.interpolate import RegularGridInterpolator
rpm=np.array([2000.,4000.,6000.,8000.,9500.,11000.,12500.]); thr=np.array([0.,5.,15.,30.,60.,100.])
# deterministic exact binary-friendly values (multiples of 1/8)
Z=np.array([[round(8*(1.5+0.045*t+r/9000.0+0.00002*(r-9500)*(t/100)))/8 for t in thr] for r in rpm])
lin_ex=RegularGridInterpolator((rpm,thr),Z,method='linear',bounds_error=False,fill_value=None)   # extrapolates
lin=RegularGridInterpolator((rpm,thr),Z,method='linear',bounds_error=True)                       # inside only
near=RegularGridInterpolator((rpm,thr),Z,method='nearest')
print('# table rows=rpm cols=throttle'); print('#table,rpm\\thr,'+','.join('%g'%t for t in thr))
for r,row in zip(rpm,Z): print('#table,%g,'%r+','.join('%.17g'%v for v in row))
print('kind,x,y,linear_clamped,linear_extrapolated,nearest_inside_or_empty')
pts=[(2000,0),(12500,100),(4000,15),(3000,2.5),(3000,0),(2000,2.5),(5000,10),(7250,22.5),(8750,45),(9500,60),(9501,60.001),(10250,80),(11750,33.3),(12499.999,99.999),(2000.001,0.001),(6000,7.77),(6543.21,15),
     (1000,50),(14000,50),(7000,-5),(7000,120),(500,-10),(15000,110),(1999.999,100.001)]
for x,y in pts:
    cx,cy=np.clip(x,rpm[0],rpm[-1]),np.clip(y,thr[0],thr[-1])
    c=float(lin([[cx,cy]])[0]); e=float(lin_ex([[x,y]])[0])
    inside=(rpm[0]<=x<=rpm[-1] and thr[0]<=y<=thr[-1])
    n='%.17g'%float(near([[x,y]])[0]) if inside else ''
    # independent check of the bilinear formula
    i=min(max(np.searchsorted(rpm,cx,side='right')-1,0),len(rpm)-2); j=min(max(np.searchsorted(thr,cy,side='right')-1,0),len(thr)-2)
    u=(cx-rpm[i])/(rpm[i+1]-rpm[i]); v=(cy-thr[j])/(thr[j+1]-thr[j])
    f=(1-u)*(1-v)*Z[i,j]+u*(1-v)*Z[i+1,j]+(1-u)*v*Z[i,j+1]+u*v*Z[i+1,j+1]
    assert abs(f-c)<1e-12,(x,y,f,c)
    print('2d,%.17g,%.17g,%.17g,%.17g,%s'%(x,y,c,e,n))
# 1-D: numpy.interp clamps at both ends
xp=np.array([6.,8.,10.,12.,14.,16.]); fp=np.array([2.5,1.7,1.25,0.95,0.75,0.625])  # e.g. injector dead time vs volts (synthetic)
for x in (5,6,6.5,9,11.3,12,13.8,15.999,16,17): print('1d,%.17g,,%.17g,,'%(x,np.interp(x,xp,fp)))
print('#1d-knots,'+';'.join('%g:%g'%p for p in zip(xp,fp)))
