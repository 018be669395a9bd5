# Prints the cases of `fit` that came after the first: the AMO draw length from the pivot point, bow and string lengths of
# every riser of the trade, edges of the rule, by arithmetic on tests/reference/trade_facts.json. Exact decimals, so that
# an edge falls where it is written.
import json
from decimal import Decimal as D

ADDED = {"short": 41, "medium": 43, "long": 45}
EDGES = [D("26"), D("26.5"), D("29.5")]
FP3 = "AMO Standards, Field Publication FP-3 (2000)"
PRACTICE = "common practice, no source"


def rule(draw):
    if draw < EDGES[0]:
        return "short"
    if draw < EDGES[1]:
        return "between"
    return "medium" if draw <= EDGES[2] else "long"


def case(name, source, given, expect, refused=False):
    made = dict(id=name, method="fit", source=source, rel=0, abs=1e-9, input=given)
    made.update(dict(expect_error=True) if refused else dict(expect=expect))
    return made


cases = []
# 26 1/4 in to the pivot point are 28 in of draw: the standard's own example.
for i, pivot in enumerate(["26.25", "24", "24.5", "27.75", "28", "24.74"], 1):
    draw = D(pivot) + D("1.75")
    off = min(abs(draw - edge) for edge in EDGES)
    expect = dict(draw_length_in=float(draw), limb_length=rule(draw), off_edge_in=float(off))
    cases.append(case(f"ft_pivot{i:02}", FP3 + "; limb length: " + PRACTICE, dict(pivot_draw_in=float(pivot)), expect))
for i, riser in enumerate([15, 17, 19, 21, 23, 25, 27], 1):
    for length, added in ADDED.items():
        bow = riser + added
        expect = dict(bow_length_in=bow, string_length_in=bow - 3)
        cases.append(case(f"ft_{length}{i:02}", PRACTICE + "; string: " + FP3, dict(riser_in=riser, limb_length=length), expect))


def table(order):
    return [dict(riser_in=r, bows=[dict(limb_length=l, bow_length_in=r + a, string_length_in=r + a - 3) for l, a in ADDED.items()]) for r in order]


cases.append(case("ft_target", PRACTICE, dict(discipline="target"), dict(risers=table([21, 23, 25, 27, 15, 17, 19]))))
cases.append(case("ft_field", PRACTICE, dict(discipline="field"), dict(risers=table([15, 17, 19, 21, 23, 25, 27]))))
cases.append(case("ft_split", "from memory; common practice, no source", dict(hook="split_finger"), dict(tiller_mm=[3, 6])))
cases.append(case("ft_under", "from memory; common practice, no source", dict(hook="three_under"), dict(tiller_mm=[-3, 0])))
for name, given in [("cm", dict(pivot_draw_in=67)), ("minus", dict(pivot_draw_in=-26.25)), ("hook", dict(hook="thumb")), ("clout", dict(discipline="clout"))]:
    cases.append(case(f"ft_{name}", "what no archer has, or no word of the trade", given, None, True))
print(json.dumps(cases))
