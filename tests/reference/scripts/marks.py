# Prints the cases of `marks`: flights by scipy's DOP853, launch angles by brentq, fits by least_squares over zero, slope
# and logarithm of the speed (crawls with the eye's height solved exactly), intervals by a Jacobian of central
# differences, the speed's by its profile; monotone cases by PchipInterpolator. Run with `cover` it counts how often the
# interval holds the true mark.
import json, sys
import numpy as np
from scipy import stats
from scipy.integrate import solve_ivp
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq, least_squares

G = 9.80665

def tangent(v, x, rise, fl):
    k = fl['air_density_kg_m3'] * fl['cd'] * np.pi * (fl['diameter_mm'] / 2000) ** 2 / (2 * fl['mass_g'] / 1000)
    def y(t):
        vx = v / np.hypot(1, t)
        f = lambda s, z: [z[2] / z[1], -k * np.hypot(z[1], z[2]), (-k * np.hypot(z[1], z[2]) * z[2] - G) / z[1]]
        return solve_ivp(f, (0, x), [0, vx, vx * t], method='DOP853', rtol=1e-11, atol=1e-13).y[0, -1] - rise
    low = rise / x
    high = low + 0.02
    while y(high) < 0:
        high += 0.05
        if high > 1.7:
            raise ValueError
    return brentq(y, low, high, xtol=1e-14, rtol=1e-14)

MEMO = {}
def tan_at(v, x, rise, fl):
    key = (round(v, 12), x, round(rise, 12), tuple(sorted(fl.items())))
    if key not in MEMO:
        MEMO[key] = tangent(v, x, rise, fl)
    return MEMO[key]

def predict(what, p, d, fl, v=None):
    v = np.exp(p[-1]) if v is None else v
    h = fl['eye_above_arrow_mm'] / 1000
    fl = {k: fl[k] for k in ('mass_g', 'diameter_mm', 'cd', 'air_density_kg_m3')}
    if what == 'sight':
        return p[0] + p[1] * tan_at(v, d, h, fl)
    if what == 'gap':
        return 1000 * np.tan(np.arctan(tan_at(v, d, h, fl)) - np.arctan(p[0]))
    c = 0.0
    for _ in range(60):
        new = p[0] + p[1] * tangent(v, d, h - c / 1000, fl)
        if abs(new - c) < 1e-10:
            break
        c = new
    return new

FLIGHT = dict(mass_g=20.0, diameter_mm=5.5, cd=2.0, air_density_kg_m3=1.225, eye_above_arrow_mm=100.0)

def run(inp):
    what, conf = inp.get('what', 'sight'), inp.get('confidence', 0.95)
    fl = {k: inp.get(k, FLIGHT[k]) for k in FLIGHT}
    d = np.array([m['distance_m'] for m in inp['marks']], float)
    r = np.array([m['reading'] for m in inp['marks']], float)
    y = r / d if what == 'gap' else r
    v = inp.get('speed_m_s')
    f = lambda p, x: predict(what, p, x, fl, v)
    rest = lambda p: np.array([f(p, x) for x in d]) - y
    def start(v0):
        t = np.array([tan_at(v0, x, fl['eye_above_arrow_mm'] / 1000, {k: fl[k] for k in ('mass_g', 'diameter_mm', 'cd', 'air_density_kg_m3')}) for x in d])
        if what == 'gap':
            return [np.mean(t - y / 1000)]
        b, a = np.polyfit(t, y, 1)
        return [a, b]
    if v is not None:
        best = least_squares(rest, start(v), x_scale='jac', xtol=1e-14, ftol=1e-14, gtol=1e-14, method='lm')
    else:
        tries = [least_squares(rest, start(v0) + [np.log(v0)], x_scale='jac', xtol=1e-13, ftol=1e-13, gtol=1e-13, method='lm') for v0 in (48., 62.)]
        best = min(tries, key=lambda q: q.cost)
    p = best.x
    n, k = len(d), len(p)
    df = n - k
    ss = 2 * best.cost
    step = inp.get('resolution')
    if step is None:
        step = next((s for s in (1, .1, .01) if all(abs(x / s - round(x / s)) < 1e-6 for x in r)), .001)
    floor = np.sqrt(np.mean((step / d if what == 'gap' else np.full(n, step)) ** 2 / 12))
    s = max(np.sqrt(ss / df), floor)
    def jac(x):
        g = []
        for i in range(k):
            e = max(1e-5, 1e-5 * abs(p[i])); up, dn = p.copy(), p.copy(); up[i] += e; dn[i] -= e
            g.append((f(up, x) - f(dn, x)) / (2 * e))
        return np.array(g)
    J = np.array([jac(x) for x in d])
    Q, R = np.linalg.qr(J)
    t = stats.t.ppf(.5 + conf / 2, df)
    se = lambda x: s * np.linalg.norm(np.linalg.solve(R.T, jac(x)))
    e = y - np.array([f(p, x) for x in d])
    free = 1 - (Q ** 2).sum(1)
    off = e / free
    back = lambda x, z: z * x if what == 'gap' else z
    adj = [None] * n
    if df >= 2:
        var = np.maximum((ss - e ** 2 / free) / (df - 1), floor ** 2)
        pv = 2 * stats.t.sf(abs(e / np.sqrt(var * free)), df - 1)
        hi = 0
        for rank, i in enumerate(np.argsort(pv)):
            hi = max(hi, min(1, pv[i] * (n - rank))); adj[i] = hi
    table = []
    for x in inp['at_m']:
        z, w = f(p, x), se(x)
        fl_x = (step / x if what == 'gap' else step) / np.sqrt(12)
        nw = np.hypot(w, max(s, fl_x))
        table.append(dict(distance_m=x, place='between' if d.min() <= x <= d.max() else 'beyond', value=back(x, z), interval=[back(x, z - t * w), back(x, z + t * w)], new_mark_interval=[back(x, z - t * nw), back(x, z + t * nw)]))
    out = dict(what=what, curve='trajectory', zero=p[0], sigma=s, df=df, resolution=step, table=table,
        fitted=[dict(distance_m=d[i], reading=r[i], fitted=back(d[i], f(p, d[i])), off=back(d[i], off[i]), p_adjusted=adj[i], suspect=bool(adj[i] is not None and adj[i] < 1 - conf)) for i in range(n)])
    if what != 'gap':
        out['slope'] = p[1]
    out['speed'] = dict(value_m_s=float(np.exp(p[-1])) if v is None else v, known=v is not None)
    if v is None and inp.get('profile', True):
        most = ss + (t * s) ** 2
        def over(u):
            q = least_squares(lambda z: np.array([predict(what, list(z) + [u], x, fl) for x in d]) - y, p[:-1], x_scale='jac', method='lm')
            return 2 * q.cost - most
        ends = []
        for bound in (20., 130.):
            try:
                ends.append(float(np.exp(brentq(over, p[-1], np.log(bound), xtol=1e-7))) if over(np.log(bound)) > 0 else None)
            except ValueError:
                # Where the arrow stops to reach the marks it is outside too.
                a, b = p[-1], np.log(bound)
                for _ in range(40):
                    m = (a + b) / 2
                    try: out_ = over(m) > 0
                    except ValueError: out_ = True
                    a, b = (a, m) if out_ else (m, b)
                ends.append(float(np.exp(b)))
        out['speed']['interval_m_s'] = ends
    if what != 'sight':
        far = d.max() + min(10, .2 * d.max()); near = d.min() - min(10, .2 * d.min())
        grid = np.linspace(near, far, 80); val = [f(p, x) for x in grid]
        at = [i for i in range(79) if val[i] * val[i + 1] < 0]
        if at:
            root = brentq(lambda x: f(p, x), grid[at[-1]], grid[at[-1] + 1])
            hold = lambda x: abs(f(p, x)) - t * se(x)
            low = next((brentq(hold, x, root) for x in grid[::-1] if x < root and hold(x) > 0), None)
            high = next((brentq(hold, root, x) for x in grid if x > root and hold(x) > 0), None)
            out['point_on'] = dict(distance_m=root, interval_m=[low, high])
    return conv(out)

def conv(o):
    if isinstance(o, dict): return {k: conv(v) for k, v in o.items()}
    if isinstance(o, (list, tuple, np.ndarray)): return [conv(v) for v in o]
    if isinstance(o, (np.bool_, bool)): return bool(o)
    if isinstance(o, np.floating): return float(o)
    if isinstance(o, np.integer): return int(o)
    return o

def monotone(inp):
    what = inp.get('what', 'sight')
    d = np.array([m['distance_m'] for m in inp['marks']], float); r = np.array([m['reading'] for m in inp['marks']], float)
    y = r / d if what == 'gap' else r
    curve = PchipInterpolator(d, y)
    rows = []
    for x in inp['at_m']:
        if not d[0] <= x <= d[-1]:
            rows.append(dict(distance_m=x, place='outside')); continue
        i = min(max(np.searchsorted(d, x), 1), len(d) - 1)
        z = float(curve(x)); s = x if what == 'gap' else 1
        on = [float(v) for v in y[d == x]] or [float(y[i - 1]), float(y[i])]
        rows.append(dict(distance_m=x, place='between', value=z * s, interval=[min(on) * s, max(on) * s]))
    return conv(dict(what=what, curve='monotone', table=rows))

def draw(what, truth, ds, sigma, step, rng):
    return [dict(distance_m=float(x), reading=round(round((truth(x) + sigma * rng.normal()) / step) * step, 6)) for x in ds]

SIGHT = lambda v, a=3., b=850., fl=FLIGHT: (lambda x: predict('sight', [a, b], x, fl, v))

def cases():
    rng = np.random.default_rng(43)
    out = []
    def add(i, words, inp, expect, rel=2e-6, absolute=2e-6):
        out.append(dict(id=i, method='marks', source='scipy DOP853, brentq and least_squares (tests/reference/scripts/marks.py): ' + words, rel=rel, abs=absolute, input=inp, expect=expect))
    inp = dict(marks=draw('sight', SIGHT(56.), [18, 30, 50, 70], .1, .1, rng), speed_m_s=56.0, at_m=[18.0, 25.0, 43.0, 60.0, 77.5, 15.0])
    add('mk01', 'four sight marks, known speed', inp, run(inp))
    inp = dict(marks=draw('sight', SIGHT(54.), [8, 12, 18, 25, 30, 40, 50, 60], .08, .1, rng), at_m=[10.0, 22.0, 45.0, 66.0], confidence=.9)
    add('mk02', 'eight sight marks, speed fitted, confidence 0.9', inp, run(inp), 2e-4, 2e-4)
    marks = draw('sight', SIGHT(57.), [10, 18, 25, 30, 40, 50, 60, 70], .08, .1, rng); marks[5]['reading'] = round(marks[5]['reading'] + 1.2, 1)
    inp = dict(what='sight', marks=marks, at_m=[43.0])
    add('mk03', 'one of eight misread by 1.2, speed fitted', inp, run(inp), 5e-4, 5e-4)
    other = dict(FLIGHT, mass_g=24., diameter_mm=6.5, cd=1.6, air_density_kg_m3=1.1, eye_above_arrow_mm=120.)
    truth = lambda x: predict('crawl', [122., -700.], x, other, 50.)
    inp = dict(what='crawl', marks=draw('crawl', truth, [8, 12, 18, 25, 30, 35], .5, .5, rng), speed_m_s=50.0, at_m=[10.0, 20.0, 33.0, 38.0], resolution=.5, **other)
    add('mk04', 'six crawls, known speed, another arrow and eye', inp, run(inp), 2e-3, 5e-3)
    psi = predict('gap', [0.], 40., FLIGHT, 52.) / 1000
    truth = lambda x: x * predict('gap', [psi], x, FLIGHT, 52.)
    inp = dict(what='gap', marks=draw('gap', truth, [12, 18, 25, 30, 45], 15, 10, rng), speed_m_s=52.0, at_m=[15.0, 35.0, 50.0])
    add('mk05', 'five gaps, known speed', inp, run(inp))
    inp = dict(what='gap', marks=draw('gap', truth, [12, 18, 25, 30, 45, 50], 10, 10, rng), at_m=[20.0, 40.0])
    add('mk06', 'six gaps, speed fitted', inp, run(inp), 2e-4, 2e-4)
    repeated = draw('sight', SIGHT(60.), [18, 18, 30, 30, 50, 50, 70], .1, .1, rng)
    inp = dict(marks=repeated, speed_m_s=60.0, at_m=[40.0])
    add('mk07', 'marks found twice at a distance, known speed', inp, run(inp))
    inp = dict(marks=[dict(distance_m=18.0, reading=2.1), dict(distance_m=30.0, reading=3.25), dict(distance_m=50.0, reading=6.0)], at_m=[18.0, 20.0, 29.0, 40.0, 49.9, 60.0])
    add('mk08', 'three marks joined by PchipInterpolator', inp, monotone(inp), 1e-9, 1e-9)
    inp = dict(what='gap', marks=[dict(distance_m=18.0, reading=-500.0), dict(distance_m=30.0, reading=-350.0)], at_m=[20.0, 25.0])
    add('mk09', 'two gaps joined', inp, monotone(inp), 1e-9, 1e-9)
    for i, inp in enumerate([dict(marks=[dict(distance_m=-3.0, reading=1.0)]), dict(what='scope', marks=[]), dict(what='crawl', marks=[dict(distance_m=10.0, reading=-1.0)]), dict(marks=[dict(distance_m=10.0, reading=1.0)], speed_m_s=200.0)]):
        out.append(dict(id=f'mk1{i}', method='marks', source='refused: no such distance, kind, crawl or speed', input=inp, expect_error=True))
    return dict(cases=out)

def cover(runs=400):
    # The same fit by least squares on tables of tangents, so that many can be drawn.
    rng = np.random.default_rng(7); ds = np.array([10, 18, 30, 40, 50, 60, 70.]); at = np.array([24, 43, 61.]); v = 56.
    fl = {k: FLIGHT[k] for k in ('mass_g', 'diameter_mm', 'cd', 'air_density_kg_m3')}
    us = np.linspace(np.log(30), np.log(110), 41)
    tab = {x: np.polynomial.Chebyshev.fit(us, [tangent(np.exp(u), x, .1, fl) for u in us], 12) for x in np.r_[ds, at]}
    T = lambda u, xs: np.array([tab[x](u) for x in xs])
    truth = lambda xs: 3 + 850 * T(np.log(v), xs)
    for known in (True, False):
        held = n = 0
        for _ in range(runs):
            y = np.round(truth(ds) + .15 * rng.normal(size=len(ds)), 1)
            f = (lambda p, xs: p[0] + p[1] * T(np.log(v), xs)) if known else (lambda p, xs: p[0] + p[1] * T(p[2], xs))
            b, a = np.polyfit(T(np.log(v), ds), y, 1)
            q = least_squares(lambda p: f(p, ds) - y, [a, b] if known else [a, b, np.log(v)], x_scale='jac', bounds=([-np.inf, -np.inf] + ([] if known else [us[0]]), [np.inf, np.inf] + ([] if known else [us[-1]])))
            p = q.x; k = len(p); s = max(np.sqrt(2 * q.cost / (len(ds) - k)), .1 / np.sqrt(12)); t = stats.t.ppf(.975, len(ds) - k)
            def J(xs):
                c = [np.ones(len(xs)), T(np.log(v) if known else p[2], xs)]
                if not known: c.append(p[1] * (T(p[2] + 1e-4, xs) - T(p[2] - 1e-4, xs)) / 2e-4)
                return np.array(c).T
            C = np.linalg.inv(J(ds).T @ J(ds)); g = J(at)
            half = t * s * np.sqrt(np.einsum('ij,jk,ik->i', g, C, g))
            held += int((abs(f(p, at) - truth(at)) <= half).sum()); n += len(at)
        print('known' if known else 'fitted', held / n)

if __name__ == '__main__':
    cover(int(sys.argv[2]) if len(sys.argv) > 2 else 2000) if sys.argv[1:2] == ['cover'] else print(json.dumps(cases(), indent=1))
