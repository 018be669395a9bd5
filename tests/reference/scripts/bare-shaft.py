# Prints the cases of `bare-shaft`: ends drawn with a fixed seed, what is expected by numpy and scipy.
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
    conf=inp.get('confidence',.95); D=[];W=[];R=[];nb=nf=0;F=[]
    ends={}
    for k,g in enumerate(inp['groups']):
        key=(g.get('session'),g['end']) if 'end' in g else k
        P=np.array(g['points_mm'],float)/g['distance_m']
        for i in range(len(P)):
            if i in g.get('flyers',[]): continue
            ends.setdefault(key,([],[]))[0 if i in g.get('bare',[]) else 1].append(P[i])
    for b,f in ends.values():
        if not b or not f: continue
        b=np.array(b);f=np.array(f); nb+=len(b);nf+=len(f);F.append(f)
        D.append(b.mean(0)-f.mean(0));W.append(1/(1/len(b)+1/len(f))); R+= [b-b.mean(0),f-f.mean(0)]
    D=np.array(D);W=np.array(W);m=len(W)
    g=(W[:,None]*D).sum(0)/W.sum()
    if m>=3:
        X=np.sqrt(W)[:,None]; E=(D-g)*X; df=m-1; basis='ends'
    else:
        E=np.vstack(R); df=nb+nf-2*m; basis='within_end'
    S=E.T@E/df
    se=np.sqrt(np.diag(S)/W.sum()); t=stats.t.ppf(1-(1-conf)/4,df)
    iv=[[g[a]-t*se[a],g[a]+t*se[a]] for a in (0,1)]
    p=[2*stats.t.sf(abs(g[a]/se[a]),df) for a in (0,1)]
    T2=W.sum()*g@np.linalg.inv(S)@g; f=T2*(df-1)/(2*df)
    dist={}
    for gr in inp['groups']: dist[gr['distance_m']]=dist.get(gr['distance_m'],0)+len(gr['points_mm'])
    d=min(dist,key=lambda k:(-dist[k],k))
    shown=[iv[a][0]>0 or iv[a][1]<0 for a in (0,1)]
    arm=inp.get('bow_arm'); side=[None,None]; rd=[None,None]
    if shown[0]:
        side[0]='right' if g[0]>0 else 'left'
        if arm: rd[0]='stiff' if (side[0]=='left')==(arm=='left') else 'weak'
    if shown[1]:
        side[1]='high' if g[1]>0 else 'low'; rd[1]='nocking_point_low' if g[1]>0 else 'nocking_point_high'
    cl=[]
    for di in inp.get('dials',[]):
        s=np.array(di['shift_per_unit_mrad'],float); k=np.array(shown)
        u=-np.linalg.lstsq(s[k][:,None],g[k],rcond=None)[0][0] if k.any() else None
        cl.append(dict(setting=di['setting'],units=u,left_over_mrad=None if u is None else g+u*s))
    return dict(distance_m=d,ends=m,bare=nb,fletched=nf,fletched_mpi_mm=np.vstack(F).mean(0)*d,difference_mrad=g,difference_mm=g*d,basis=basis,df=df,interval_mrad=iv,interval_mm=np.array(iv)*d,p=p,
      hotelling=dict(t2=T2,f=f,df1=2,df2=df-1,p=stats.f.sf(f,2,df-1)),sideways=dict(shown=shown[0],side=side[0],reading=rd[0]),up_down=dict(shown=shown[1],side=side[1],reading=rd[1]),closing=cl)
rng=np.random.default_rng(11)
def season(ends,nb,nf,gap,dists=(18,),sd=1.8):
    gs=[]
    for e in range(ends):
        d=dists[e%len(dists)]; mid=rng.normal(size=2)*.5; P=[];bare=[]
        for i in range(nf+nb):
            b=i>=nf
            P.append(np.round((mid+rng.normal(size=2)*(sd if b else 1)+(np.array(gap) if b else 0))*d,1).tolist())
            if b: bare.append(i)
        gs.append(dict(distance_m=d,points_mm=P,bare=bare))
    return gs
cases=[]
def add(i,what,inp):
    cases.append(dict(id=i,method='bare-shaft',source='numpy weighted means and scatter, scipy t and F; readings: common practice, no source; '+what,rel=1e-8,abs=1e-10,input=inp,expect=conv(run(inp))))
add('bs01','8 ends, stiff and nocking point high, a right-handed archer',dict(groups=season(8,2,4,(-4,-3.5)),bow_arm='left',dials=[dict(setting='plunger_turns',shift_per_unit_mrad=[1.6,0.1]),dict(setting='nocking_point_mm',shift_per_unit_mrad=[0.05,-0.9])]))
add('bs02','the same side, a left-handed archer',dict(groups=season(5,2,3,(-4.5,0)),bow_arm='right',hook='three_under',dials=[dict(setting='plunger_turns',shift_per_unit_mrad=[-1.2,0.3])]))
add('bs03','one end, noise from within it',dict(groups=season(1,3,6,(6,0),sd=1)))
g=season(6,1,3,(0,0),(18,30)); g[2]['flyers']=[0]; g[4]['points_mm'].append([900.0,0.0]); g[4]['flyers']=[4]
add('bs04','no difference, two distances, flyers by word, confidence 0.9',dict(groups=g,bow_arm='left',confidence=.9))
g=season(4,2,4,(5,4)); h=[]
for k,e in enumerate(g):
    P=e['points_mm']; h+=[dict(distance_m=18,points_mm=P[:4],session='a',end=k),dict(distance_m=18,points_mm=P[4:],bare=[0,1],session='a',end=k)]
h.append(dict(distance_m=18,points_mm=[[400.0,0.0]],bare=[0]))
add('bs05','bare and fletched in groups of one end, one bare shaft alone',dict(groups=h,bow_arm='left'))
for i,w,inp in [('bs90','no bare shaft',{'groups':[{'distance_m':18,'points_mm':[[1,2],[3,4]]}]}),('bs91','no such arm',{'groups':g,'bow_arm':'both'}),('bs92','a dial without a response',{'groups':g,'dials':[{'setting':'x'}]})]:
    cases.append(dict(id=i,method='bare-shaft',source='definition: '+w,input=inp,expect_error=True))
print(json.dumps({'cases':cases},separators=(',',':')))
