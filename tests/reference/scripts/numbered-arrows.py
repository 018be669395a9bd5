# Prints the cases of `numbered-arrows`: ends drawn with a fixed seed, what is expected by numpy and scipy.
import numpy as np, json
from scipy import stats
def holm(p):
    p=np.array(p); o=np.argsort(p,kind='stable'); m=len(p); out=np.zeros(m); h=0
    for r,i in enumerate(o):
        h=max(h,min(1,p[i]*(m-r))); out[i]=h
    return out
def diffs(groups, num, apart):
    D=[];W=[]
    for g in groups:
        P=np.array(g['points_mm'],float)/g['distance_m']
        keep=[i for i in range(len(P)) if i not in g.get('flyers',[]) and i not in g.get('bare',[])]
        N=g['arrow_numbers']
        if len(keep)<3: continue
        own=[i for i in keep if N[i]==num]; oth=[i for i in keep if N[i]!=num and N[i] not in apart]
        if own and len(oth)>=2:
            D.append(P[own].mean(0)-P[oth].mean(0)); W.append(1/(1/len(own)+1/len(oth)))
    return np.array(D),np.array(W)
def hot(D,W):
    # generalised least squares: regress sqrt(w) d on sqrt(w), both axes
    X=np.sqrt(W)[:,None]; Y=D*X
    B=np.linalg.lstsq(X,Y,rcond=None)[0]; E=Y-X@B; m=len(W)
    S=E.T@E/(m-1); T2=float((B@np.linalg.inv(S)@B.T).item()*W.sum())
    F=T2*(m-2)/(2*(m-1)); return B[0],S,T2,stats.f.sf(F,2,m-2)
def run(groups,conf=.95):
    alpha=1-conf
    nums=sorted({n for g in groups for n in g['arrow_numbers'] if n},key=int)
    apart=[];rec={};floor=0
    while True:
        open_=[n for n in nums if n not in apart and len(diffs(groups,n,apart)[1])>=4]
        ps=[]
        for n in open_:
            D,W=diffs(groups,n,apart); b,S,T2,p=hot(D,W)
            far=np.argmax(W*((D-b)**2).sum(1)); pr=hot(np.delete(D,far,0),np.delete(W,far))[3]
            ps.append((p,pr,b,S,W))
        adj=np.maximum(holm([max(a[0],a[1]) for a in ps]),floor)
        for n,a,q in zip(open_,ps,adj):
            sus=bool(a[0]<alpha and q>=alpha); more=None
            if sus:
                lam1=a[4].mean()*float(a[2]@np.linalg.inv(a[3])@a[2]); al=alpha/len(open_); m=len(a[4])+1
                while stats.ncf.sf(stats.f.ppf(1-al,2,m-2),2,m-2,m*lam1)<.8: m+=1
                more=m-len(a[4])
            rec[n]=dict(p=a[0],p_without_farthest=a[1],p_adjusted=q,suspect=sus,verdict='not_shown')
            if more: rec[n]['more_ends']=more
        cand=[k for k in range(len(open_)) if adj[k]<alpha]
        if not cand: break
        k=max(cand,key=lambda k:(ps[k][2]**2).sum()); floor=adj[k]; rec[open_[k]]['verdict']='apart'; apart.append(open_[k])
    dist={}
    for g in groups: dist[g['distance_m']]=dist.get(g['distance_m'],0)+len(g['points_mm'])
    d=min(dist,key=lambda k:(-dist[k],k))
    out=[]
    for n in nums:
        D,W=diffs(groups,n,apart); r=dict(number=n,n=len(W)); 
        if len(W)>=3:
            b,S,T2,p=hot(D,W); m=len(W)
            ev,evec=np.linalg.eigh(S); f=np.sqrt(2*(m-1)/(m-2)*stats.f.ppf(conf,2,m-2)/W.sum())
            v=evec[:,1]; ang=np.degrees(np.arctan2(v[1],v[0])); ang=(ang+90)%180-90
            r.update(offset_mrad=list(b),offset_mm=list(b*d),ellipse_mrad=dict(semi_major=np.sqrt(ev[1])*f,semi_minor=np.sqrt(ev[0])*f,angle_deg=ang),ellipse_mm=dict(semi_major=np.sqrt(ev[1])*f*d))
        r.update(rec.get(n,{})); out.append(r)
    return dict(distance_m=d,judged=len(rec),arrows=out)
rng=np.random.default_rng(7)
def season(K,per,ends,offs,dists=(30,),flyer=None,bare=False):
    gs=[]
    for e in range(ends):
        d=dists[e%len(dists)]; pick=rng.permutation(K)[:per]
        mid=rng.normal(size=2)*.5
        P=[np.round((mid+rng.normal(size=2)+np.array(offs.get(int(a)+1,(0,0))))*d,1).tolist() for a in pick]
        g=dict(distance_m=d,points_mm=P,arrow_numbers=[str(int(a)+1) for a in pick])
        if bare: g['points_mm'].append([300.0,10.0]); g['arrow_numbers'].append('1'); g['bare']=[len(P)-1]
        if flyer==e: g['points_mm'][0]=[400.0,-300.0]
        if flyer is not None and e==flyer+1: g['points_mm'][1]=[-500.0,100.0]; g['flyers']=[1]
        gs.append(g)
    return gs
def conv(o):
    if isinstance(o, dict): return {k: conv(v) for k, v in o.items()}
    if isinstance(o, (list, tuple, np.ndarray)): return [conv(v) for v in o]
    if isinstance(o, np.bool_): return bool(o)
    if isinstance(o, np.floating): return float(o)
    if isinstance(o, np.integer): return int(o)
    return o
src='numpy least squares of the weighted differences, scipy F and noncentral F; '
cases=[]
def add(i,what,gs,conf=None):
    inp={'groups':gs}
    if conf: inp['confidence']=conf
    ex=run(gs,conf or .95)
    cases.append(dict(id=i,method='numbered-arrows',source=src+what,rel=1e-7,abs=1e-10,input=inp,expect=conv(ex)))
add('na01','6 arrows, 10 ends, none apart',season(6,6,10,{}))
add('na02','6 arrows, 15 ends, arrow 3 apart',season(6,6,15,{3:(2.2,-1.5)}))
add('na03','12 arrows in ends of 6, two distances, arrows 5 and 9 apart',season(12,6,40,{5:(3,0),9:(-1,2.5)},(18,30)))
add('na04','ends of 3 of 6 arrows, one flyer that nobody noted, one by word, confidence 0.9',season(6,3,24,{2:(1.8,1.2)},flyer=4),0.9)

for seed in range(100):
    rng=np.random.default_rng(seed); g5=season(8,6,14,{4:(0.9,0.7)},(70,),bare=True); r=run(g5)
    v=[a.get('verdict') for a in r['arrows']]; u=[a.get('suspect') for a in r['arrows']]
    if 'apart' not in v and sum(map(bool,u))==1: break
add('na05','8 arrows with a bare shaft in each end, suspects',g5)
add('na06','too few ends for three of the arrows',season(6,6,3,{})+season(3,3,4,{}))
bad=[('na90','no numbers',{'groups':[{'distance_m':18,'points_mm':[[1,2],[3,4],[5,6]]}]}),('na91','lengths differ',{'groups':[{'distance_m':18,'points_mm':[[1,2],[3,4],[5,6]],'arrow_numbers':['1']}]}),('na92','no groups',{'groups':[]})]
for i,w,inp in bad: cases.append(dict(id=i,method='numbered-arrows',source='definition: '+w,input=inp,expect_error=True))
print(json.dumps({'cases':cases},separators=(',',':')))
