import sys; sys.path.insert(0,'/tmp/w/flights')
import dbgc, numpy as np
from needlework.debrief import holding
for n in ('f574',):
    r=dbgc.show(n,1200,2110,30)
    print([ (p.text,p.start_s) for p in r.parts], r.wind, r.judgement('hold_wind'))
