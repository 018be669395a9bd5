"""Makes tests/reference/cases/deal.json: every deal of small sets of ends, counted in exact fractions.

Run from the top: python3 tests/reference/scripts/deal.py > tests/reference/cases/deal.json
Python 3, its standard library alone. Ends are written in thousandths of a mrad, so that squared distances are fractions
and no rounding decides whether a deal reaches the one that was shot.
"""
import itertools
import json
import math
from fractions import Fraction as F

SOURCE = (
    "every deal written out by itertools.combinations and counted in exact fractions; Fisher 1935, "
    "Edgington and Onghena 2007 (from memory)"
)


def difference(before, after):
    """Mean of the ends after less mean of those before, by axis."""
    return [sum(p[a] for p in after) / F(len(after)) - sum(p[a] for p in before) / F(len(before)) for a in (0, 1)]


def strata_of(ends):
    """The sessions of a sight that hold both sides; where there are none, the sights that do."""
    for key in (lambda e: (e["sight"], e["session"]), lambda e: e["sight"]):
        found = {}
        for end in ends:
            found.setdefault(key(end), ([], []))[end["after"]].append(end["exact"])
        both = [sides for sides in found.values() if all(sides)]
        if both:
            return both, key(ends[0]) != ends[0]["sight"]
    raise ValueError("nothing to deal")


def deals_of(before, after):
    """Every way to deal the ends of a stratum, with its weighted difference."""
    points = before + after
    weight = F(len(before) * len(after), len(points))
    for chosen in itertools.combinations(range(len(points)), len(after)):
        later = [points[i] for i in chosen]
        earlier = [p for i, p in enumerate(points) if i not in chosen]
        yield weight, [weight * v for v in difference(earlier, later)]


def squared(parts):
    weight = sum(w for w, _ in parts)
    total = [sum(d[a] for _, d in parts) / weight for a in (0, 1)]
    return total, total[0] ** 2 + total[1] ** 2


def answer(ends):
    strata, within = strata_of(ends)
    shot, reached = squared(
        [
            (F(len(b) * len(a), len(b) + len(a)), [F(len(b) * len(a), len(b) + len(a)) * v for v in difference(b, a)])
            for b, a in strata
        ]
    )
    every = [squared(parts)[1] for parts in itertools.product(*(list(deals_of(b, a)) for b, a in strata))]
    reach = sum(1 for d in every if d >= reached)
    mirrored = all(len(b) == len(a) for b, a in strata)
    used = [sum(len(side[n]) for side in strata) for n in (0, 1)]
    return {
        "shift_mrad": [float(v) for v in shot],
        "distance_mrad": math.sqrt(float(reached)),
        "deals": len(every),
        "reach": reach,
        "share": reach / len(every),
        "least_share": (2 if mirrored else 1) / len(every),
        "possible": math.prod(math.comb(len(b) + len(a), len(a)) for b, a in strata),
        "all": True,
        "within_sessions": within,
        "strata": len(strata),
        "ends": used,
        "ends_left_out": len(ends) - sum(used),
    }


def end(x, y, after, session="day", sight="a"):
    exact = (F(x, 1000), F(y, 1000))
    return {"exact": exact, "mean_mrad": [x / 1000, y / 1000], "after": after, "session": session, "sight": sight}


def wander(n, by):
    """Numbers that jump about in -500 to 500, by a small linear rule of their own."""
    state, found = by, []
    for _ in range(n):
        state = (421 * state + 1663) % 7875
        found.append(state * 1000 // 7875 - 500)
    return found


def season(sizes, shift, by, sight=lambda n: "a"):
    """Sessions of so many ends before and after; each session lies elsewhere."""
    ends = []
    numbers = iter(wander(4 * sum(b + a for b, a in sizes) + 2 * len(sizes), by))
    for n, (before, after) in enumerate(sizes):
        day = (4 * next(numbers), 4 * next(numbers))
        for side, count in ((False, before), (True, after)):
            for _ in range(count):
                x, y = next(numbers) + day[0] + (shift if side else 0), next(numbers) + day[1]
                ends.append(end(x, y, side, f"day {n}", sight(n)))
    return ends


def case(name, ends, deals=10_000):
    asked = [{k: v for k, v in e.items() if k != "exact"} for e in ends]
    return {
        "id": f"deal-{name}",
        "method": "deal",
        "input": {"ends": asked, "deals": deals},
        "expect": answer(ends),
        "rel": 1e-12,
        "abs": 1e-12,
        "source": SOURCE,
    }


def refused(name, ends, **more):
    asked = [{k: v for k, v in e.items() if k != "exact"} for e in ends]
    return {
        "id": f"deal-{name}",
        "method": "deal",
        "input": {"ends": asked, **more},
        "expect_error": True,
        "source": "what cannot be dealt is refused",
    }


GRID = [end(100 * x, 0, after) for x, after in ((0, 0), (1, 0), (2, 0), (1, 0), (2, 1), (3, 1), (2, 1))]
GRID = [dict(e, after=bool(e["after"])) for e in GRID]
CASES = [
    case("three-and-three", season([(3, 3)], 900, 5)),
    case("no-shift", season([(4, 4)], 0, 17)),
    case("ties-on-a-grid", GRID),
    case("uneven", season([(6, 3)], 400, 23)),
    case("two-sessions", season([(3, 3), (2, 4)], 500, 41)),
    case("three-even-sessions", season([(2, 2), (2, 2), (2, 2)], 700, 97)),
    case("a-session-of-one-side-is-left-out", season([(3, 3), (4, 0)], 500, 61)),
    case("no-session-holds-both", season([(4, 0), (0, 4)], 500, 71)),
    case("two-sights-are-never-dealt-together", season([(3, 3), (3, 3)], 500, 83, lambda n: "ab"[n])),
    refused("two-sights-alone", season([(3, 0), (0, 3)], 500, 83, lambda n: "ab"[n])),
    refused("one-side-alone", season([(5, 0)], 0, 3)),
    refused("no-deals", season([(3, 3)], 0, 3), deals=0),
]

print(json.dumps({"cases": CASES}, indent=1))
