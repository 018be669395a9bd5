# Prints the cases of `force-draw` that go beyond weight and energy: scipy's PchipInterpolator for the curve, scipy's quad for
# the energy, exact fractions for straight curves, conversions by NIST SP 811 and the international yard and pound agreement
# of 1959. Run: python3 force-draw.py (scipy 1.x); the output is what stands in cases/force-draw-energy.json.
import json
from fractions import Fraction as F
from scipy.interpolate import PchipInterpolator
from scipy.integrate import quad

GRAIN_KG, FOOT_M, LBF_N = F('0.00006479891'), F('0.3048'), F('4.4482216152605')
FOOT_POUND_J = LBF_N * FOOT_M
SOURCE = 'scipy PchipInterpolator (Fritsch and Butland 1984) and quad; NIST SP 811; stacking by its definition: common practice, no source'
LINE = 'a straight curve in exact fractions; NIST SP 811; international yard and pound agreement (1959)'

def kinetic_j(gr, fps):
    return float(F(str(gr)) * GRAIN_KG * (F(str(fps)) * FOOT_M) ** 2 / 2)

def by_scipy(draw, weight, at=None, gr=None, fps=None):
    curve = PchipInterpolator(draw, weight)
    slope = curve.derivative()
    first, last = draw[0], draw[-1]
    # Piece by piece: a cubic's own quadrature is exact, and no kink lies within.
    stored = sum(quad(curve, a, b, epsabs=1e-13, epsrel=1e-13)[0] for a, b in zip(draw, draw[1:])) / 12
    way = last - first
    a, b = first + way / 3, first + 2 * way / 3
    gain = float(curve(last) - curve(last - 1)) if way >= 6 else None
    middle = float(curve(b) - curve(a)) / (b - a) if way >= 6 else None
    expect = {'stored_energy_ftlbf': stored, 'stored_energy_j': stored * float(FOOT_POUND_J),
              'energy_per_pound': stored / weight[-1], 'slope_full_lbf_per_in': float(slope(last)),
              'last_inch_lbf_per_in': gain, 'middle_lbf_per_in': middle, 'stacking': gain / middle if middle else None}
    given = {'draw_in': draw, 'weight_lbf': weight}
    if at is not None:
        given['at_in'] = at
        inside = lambda d: first <= d <= last
        expect['weight_lbf'] = [float(curve(d)) if inside(d) else None for d in at]
        expect['slope_lbf_per_in'] = [float(slope(d)) if inside(d) else None for d in at]
    if gr:
        given |= {'arrow_mass_gr': gr, 'speed_fps': fps}
        expect |= {'kinetic_energy_j': kinetic_j(gr, fps), 'efficiency': kinetic_j(gr, fps) / expect['stored_energy_j']}
    return given, expect

def straight(first, last, k, gr, fps):
    # w = k (d - first): stored k (last - first)^2 / 2 in lbf in, a twelfth of it in ft lbf.
    way = F(str(last)) - F(str(first))
    stored = F(str(k)) * way * way / 24
    draw = [float(F(str(first)) + way * i / 4) for i in range(5)]
    weight = [float(F(str(k)) * way * i / 4) for i in range(5)]
    top = F(str(k)) * way
    joules = float(stored * FOOT_POUND_J)
    expect = {'stored_energy_ftlbf': float(stored), 'stored_energy_j': joules, 'energy_per_pound': float(stored / top),
              'slope_full_lbf_per_in': float(k), 'last_inch_lbf_per_in': float(k), 'middle_lbf_per_in': float(k), 'stacking': 1.0,
              'kinetic_energy_j': kinetic_j(gr, fps), 'efficiency': kinetic_j(gr, fps) / joules}
    return {'draw_in': draw, 'weight_lbf': weight, 'arrow_mass_gr': gr, 'speed_fps': fps}, expect

recurve = ([9.5, 10, 12, 14, 16, 18, 20, 22, 24, 26, 27, 28], [0, 2.9, 9.8, 14.4, 18.0, 21.0, 23.9, 26.9, 30.1, 33.5, 35.5, 37.8])
longbow = ([8.75, 12, 16, 20, 24, 26, 27, 28, 29], [0, 9.1, 19.4, 28.8, 38.2, 43.4, 46.3, 49.9, 54.6])
late = ([18, 20, 22, 24, 26, 27.5], [21, 23.9, 26.9, 30.1, 33.5, 36.6])
short = ([24, 26, 28], [30.1, 33.5, 37.8])
cases = []
def case(id, pair, source=SOURCE, **more):
    given, expect = pair
    cases.append({'id': id, 'method': 'force-draw', 'source': source, 'rel': 1e-9, 'abs': 1e-9, 'input': given, 'expect': expect, **more})
case('fde_recurve', by_scipy(*recurve, at=[9.5, 15, 26.5, 27.5, 28, 28.5], gr=330, fps=182))
case('fde_longbow', by_scipy(*longbow, at=[8, 10.2, 28.7], gr=520, fps=158))
case('fde_first_draw_with_weight', by_scipy(*late))
case('fde_too_short_for_stacking', by_scipy(*short, gr=330, fps=182))
case('fde_straight', straight(8, 28, 2, 400, 180), LINE)
case('fde_straight_quarter', straight(9.75, 27.25, 2.5, 350.5, 191.25), LINE)
for id, more in [('fde_no_mass', {'arrow_mass_gr': 0, 'speed_fps': 180}), ('fde_kg_for_grains', {'arrow_mass_gr': 30000, 'speed_fps': 180}),
                 ('fde_speed_below_none', {'arrow_mass_gr': 330, 'speed_fps': -182})]:
    cases.append({'id': id, 'method': 'force-draw', 'source': 'values that no arrow has', 'input': {'draw_in': short[0], 'weight_lbf': short[1], **more}, 'expect_error': True})
print(json.dumps({'cases': cases}, separators=(',', ':')))
