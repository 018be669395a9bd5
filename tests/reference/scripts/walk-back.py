# Prints the cases of `walk-back`: ends drawn with a fixed seed, what is expected by numpy and scipy.
import numpy as np, json
from scipy import stats
def conv(o):
    if isinstance(o, dict): return {k: conv(v) for k, v in o.items()}
    if isinstance(o, (list, tuple, np.ndarray)): return [conv(v) for v in o]
    if isinstance(o, np.bool_): return bool(o)
    if isinstance(o, np.floating): return float(o)
    if isinstance(o, np.integer): return int(o)
    return o
def run(inp):
    conf=inp.get('confidence',.95); ends={}
    for k,g in enumerate(inp['groups']):
        key=(g['distance_m'],(g.get('session'),g['end']) if 'end' in g else k)
        for i,p in enumerate(g['points_mm']):
            if i in g.get('flyers',[]) or i in g.get('bare',[]): continue
            ends.setdefault(key,[]).append(p[0])
    ds=sorted({k[0] for k in ends}); D=len(ds); G=len(ends); N=sum(map(len,ends.values()))
    # arrow by arrow in mrad: rows of x/d on [1/d, 1, d]
    y=[];d=[];e=[]
    for j,((dd,_),xs) in enumerate(ends.items()):
        for x in xs: y.append(x/dd); d.append(dd); e.append(j)
    y=np.array(y);d=np.array(d);e=np.array(e)
    em=np.array([y[e==j].mean() for j in range(G)]); dm={q:y[d==q].mean() for q in ds}
    within=((y-em[e])**2).sum(); between=sum(((em[e]-[dm[q] for q in d])**2))
    basis,ss,df=('ends',between,G-D) if G-D>=4 else ('arrows',within,N-G)
    s2=ss/df
    X1=np.c_[1/d,np.ones_like(d)]; X2=np.c_[1/d,np.ones_like(d),d]
    b1=np.linalg.lstsq(X1,y,rcond=None)[0]; b2=np.linalg.lstsq(X2,y,rcond=None)[0]
    yy=em[e] if basis=='ends' else y; n=G if basis=='ends' else N
    r1=((yy-X1@b1)**2).sum(); r2=((yy-X2@b2)**2).sum()
    V1=np.linalg.inv(X1.T@X1)*s2; V2=np.linalg.inv(X2.T@X2)*s2
    t=stats.t.ppf(.5*(1+conf),df)
    def term(v,se): return dict(value=v,interval=[v-t*se,v+t*se],p=2*stats.t.sf(abs(v/se),df))
    lean=term(b1[1],np.sqrt(V1[1,1])); curve=term(b2[2],np.sqrt(V2[2,2]))
    a,b=lean['p'],curve['p']; lo=min(1,2*min(a,b)); hi=max(lo,max(a,b))
    lean['p_adjusted'],curve['p_adjusted']=(lo,hi) if a<=b else (hi,lo)
    F=(r1-r2)/s2
    lof=None
    if D>3:
        ll=sum((np.array([dm[q] for q in d])-X2@b2)**2)/(D-3)/s2; lof=dict(f=ll,df1=D-3,df2=df,p=stats.f.sf(ll,D-3,df))
    ai=lambda r,k: n*np.log(r/n)+2*k+2*k*(k+1)/(n-k-1)
    h=(ds[-1]-ds[0])/2
    v='curved' if curve['p_adjusted']<1-conf else 'leaning' if lean['p_adjusted']<1-conf else 'not_shown'
    side=None if v=='not_shown' else ('left' if (-curve['value'] if v=='curved' else lean['value'])<0 else 'right')
    lv=[dict(distance_m=q,arrows=int((d==q).sum()),mean_mm=dm[q]*q,se_mm=np.sqrt(s2/(d==q).sum())*q,straight_mm=b1[0]+b1[1]*q,curved_mm=b2[0]+b2[1]*q+b2[2]*q*q) for q in ds]
    return dict(distances=lv,basis=basis,df=df,sigma_mrad=np.sqrt(s2),lean=lean,curve=curve,bend_mm=-curve['value']*h*h,bend_interval_mm=[-curve['interval'][1]*h*h,-curve['interval'][0]*h*h],curve_test=dict(f=F,df1=1,df2=df,p=stats.f.sf(F,1,df)),lack_of_fit=lof,aicc_difference=ai(r1,3)-ai(r2,4),preferred='curved' if v=='curved' else 'straight',verdict=v,side=side)
rng=np.random.default_rng(23)
def shoot(ds,ends,n,drift,esd=0.):
    gs=[]
    for q in ds:
        for _ in range(ends):
            o=esd*rng.normal(); gs.append(dict(distance_m=q,points_mm=[[round(float(drift(q)+q*(o+rng.normal())),1),round(float(q*rng.normal()),1)] for _ in range(n)]))
    return gs
cases=[]
def add(i,what,inp): cases.append(dict(id=i,method='walk-back',source='numpy least squares arrow by arrow in mrad, scipy t and F; '+what,rel=1e-7,abs=1e-9,input=inp,expect=conv(run(inp))))
add('wb01','four distances, one end each, leaning',dict(groups=shoot([10,20,30,40],1,4,lambda q:2.5*q)))
add('wb02','five distances, two ends each, curved',dict(groups=shoot([10,18,25,35,50],2,4,lambda q:5-.5*q+.08*q*q)))
add('wb03','three distances, nothing shown, noise of ends, confidence 0.9',dict(groups=shoot([15,25,40],3,3,lambda q:4,.4),confidence=.9))
g=shoot([12,18,30,50],2,3,lambda q:-3*q)
for k,x in enumerate(g): x['end']=k//2 if k<4 else k; x['session']='a'
g[1]['points_mm'].append([700.0,0.0]); g[1]['flyers']=[3]; g[5]['points_mm'].append([-600.0,0.0]); g[5]['bare']=[3]
add('wb04','groups of one end, a flyer and a bare shaft left out',dict(groups=g))
for i,w,inp in [('wb90','two distances',{'groups':shoot([10,20],3,4,lambda q:0)}),('wb91','no distance',{'groups':[{'points_mm':[[1,2]]}]})]:
    cases.append(dict(id=i,method='walk-back',source='definition: '+w,input=inp,expect_error=True))
print(json.dumps({'cases':cases},separators=(',',':')))
