# Prints the cases of `combinations`: risers and limbs drawn with a fixed seed and ranked here in exact decimals, by the
# order that the method promises and by the rules of tests/reference/trade_facts.json and the weight rule, written anew.
import json
import random
from decimal import Decimal as D

ADDED = {"short": 41, "medium": 43, "long": 45}
NEAR = D("0.25")


def rule(draw):
    if draw < D("26"):
        return "short"
    if draw < D("26.5"):
        return "between"
    return "medium" if draw <= D("29.5") else "long"


def suits(draw, length):
    if draw is None or length is None:
        return "unknown"
    if rule(draw) == length:
        return "suits"
    spans = {"short": (D("-1000"), D("26.5")), "medium": (D("26"), D("29.5")), "long": (D("29.5"), D("1000"))}
    low, high = spans[length]
    return "near_edge" if low - NEAR <= draw <= high + NEAR else "other"


def weight(marked, draw, riser):
    """4 to 6 % an inch of draw beyond 28 in, 2 to 3 % an inch of riser below 25 in, 5 % either way by the bolts."""
    if None in (marked, draw) or not (24 <= draw <= 33 and 19 <= riser <= 29):
        return None
    shares = []
    for inches, a, b in [(draw - 28, D("0.04"), D("0.06")), (25 - riser, D("0.02"), D("0.03"))]:
        shares.append(sorted([inches * a, inches * b]))
    low = marked * (1 + shares[0][0] + shares[1][0] - D("0.05"))
    high = marked * (1 + shares[0][1] + shares[1][1] + D("0.05"))
    return low, high


def keeps(limits, draw, pounds):
    worst = 0
    # No brace height keeps both: the least of one maker is above the most of another.
    low = [x["least_brace_mm"] for x in limits if "least_brace_mm" in x]
    high = [x["most_brace_mm"] for x in limits if "most_brace_mm" in x]
    if low and high and max(low) > min(high):
        worst = 2
    for limit in limits:
        most_draw = limit.get("most_draw_in")
        if most_draw is not None and draw is not None and draw > most_draw:
            worst = 2
        if pounds is None:
            continue
        least, most = limit.get("least_weight_lbf", D(0)), limit.get("most_weight_lbf", D(1000))
        if pounds[0] > most or pounds[1] < least:
            worst = 2
        elif pounds[1] > most or pounds[0] < least:
            worst = max(worst, 1)
    return worst


# Brace heights of the trade by bow length, mm (from memory; common practice, no source): the bows of the cases
TABLE = {56: (185, 200), 58: (185, 205), 60: (190, 205), 62: (195, 210), 64: (200, 215), 66: (210, 220), 68: (215, 225),
         70: (220, 230), 72: (220, 235)}


def brace(parts, strings, bow):
    """The table as far as the makers allow it, else the makers' end nearest to it."""
    if bow is None or bow not in TABLE:
        return None
    for string in strings or [{}]:
        limits = parts + [string]
        low = max([x["least_brace_mm"] for x in limits if "least_brace_mm" in x] + [D(0)])
        high = min([x["most_brace_mm"] for x in limits if "most_brace_mm" in x] + [D(1000)])
        if low <= high:
            a, b = TABLE[bow]
            if low > b:
                return [low, low]
            return [high, high] if high < a else [max(low, a), min(high, b)]
    return None


def answer(given):
    draw = given.get("draw_length_in")
    found = []
    for r, riser in enumerate(given["risers"]):
        for l, limbs in enumerate(given["limbs"]):
            length = limbs.get("limb_length")
            bow = None if length is None else riser["riser_in"] + ADDED[length]
            pounds = weight(limbs.get("marked_weight_lbf"), draw, riser["riser_in"])
            measured = [w["lbf"] for w in given.get("weights", []) if (w["riser"], w["limbs"]) == (r, l)]
            if measured:
                pounds = (measured[-1], measured[-1])
            limit = keeps([riser.get("limits", {}), limbs.get("limits", {})], draw, pounds)
            strings = [] if bow is None else [
                i for i, s in enumerate(given.get("strings", [])) if "bow_length_in" in s and abs(s["bow_length_in"] - bow) <= D("0.5")]
            pair, counts = None, True
            for p in given.get("pairs", []):
                if (p["riser"], p["limbs"]) == (r, l):
                    pair, counts = p["fit"], not p.get("beyond", False)
            wanted = given.get("wanted_lbf")
            off = None if wanted is None or pounds is None else abs((pounds[0] + pounds[1]) / 2 - wanted)
            own = riser.get("discipline")
            fits = None if own is None or "discipline" not in given else own == given["discipline"]
            suit = suits(draw, length)
            key = (pair in ("tight", "loose"), limit, ["suits", "near_edge", "unknown", "other"].index(suit), not strings,
                   not (pair == "true" and counts), fits is not True,
                   D("1e9") if off is None else off, r, l)
            row = dict(riser=r, limbs=l, suits=suit, limits=["kept", "may_pass", "passed"][limit], strings=strings)
            start = brace([riser.get("limits", {}), limbs.get("limits", {})],
                          [given["strings"][i].get("limits", {}) for i in strings], bow)
            if start is not None and not limbs.get("longbow"):
                row["brace_mm"] = start
            if given.get("pairs"):
                row["do_not_shoot"] = pair in ("tight", "loose")
            if "weights" in given:
                row["weight_measured"] = bool(measured)
            for name, value in [("bow_length_in", bow), ("weight_lbf", pounds and list(pounds)), ("pair", pair),
                                ("of_discipline", fits), ("off_wanted_lbf", off)]:
                if value is not None:
                    row[name] = value
            found.append((key, row))
    return dict(combinations=[row for _, row in sorted(found, key=lambda f: f[0])])


def plain(value):
    if isinstance(value, dict):
        return {k: plain(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(v) for v in value]
    return float(value) if isinstance(value, D) else value


SOURCE = "ranked in exact decimals by an independent program; lengths and weights: common practice, no source"
cases = []


def add(name, given):
    cases.append(dict(id=name, method="combinations", source=SOURCE, rel=1e-9, abs=1e-9, input=plain(given), expect=plain(answer(given))))


rng = random.Random(2026)
for n in range(1, 13):
    own = dict(risers=[], limbs=[], strings=[], pairs=[])
    if n != 5:
        own["draw_length_in"] = D(rng.choice(["25.8", "26.2", "26.6", "27.3", "28.1", "29.4", "29.7", "30.9"]))
    if n % 3:
        own["discipline"] = rng.choice(["target", "field"])
    if n % 4:
        own["wanted_lbf"] = D(rng.choice(["30.1", "34.7", "38.3"]))
    for i in range(rng.randint(1, 3)):
        riser = dict(name=f"riser {i}", riser_in=D(rng.choice([17, 19, 21, 23, 25, 27])))
        if rng.random() < 0.8:
            riser["discipline"] = rng.choice(["target", "field"])
        if rng.random() < 0.4:
            riser["limits"] = dict(most_weight_lbf=D(rng.choice(["36.5", "44.5", "50.5"])))
        own["risers"].append(riser)
    for i in range(rng.randint(1, 4)):
        limbs = dict(name=f"limbs {i}")
        if rng.random() < 0.9:
            limbs["limb_length"] = rng.choice(["short", "medium", "long"])
        if rng.random() < 0.9:
            limbs["marked_weight_lbf"] = D(rng.randint(26, 44))
        if rng.random() < 0.5:
            limbs["limits"] = rng.choice([dict(most_draw_in=D("29.5")), dict(least_weight_lbf=D("30.5")),
                                          dict(most_weight_lbf=D("40.5"), most_draw_in=D("31"))])
        own["limbs"].append(limbs)
    for i in range(rng.randint(0, 3)):
        own["strings"].append(dict(name=f"string {i}", bow_length_in=D(rng.choice([58, 60, 62, 64, 66, 68, 70]))))
    for _ in range(rng.randint(0, 3)):
        own["pairs"].append(dict(riser=rng.randrange(len(own["risers"])), limbs=rng.randrange(len(own["limbs"])),
                                 fit=rng.choice(["tight", "true", "loose"])))
    add(f"cb{n:02}", own)
add("cb13", dict(risers=[], limbs=[]))
for i, given in enumerate([dict(risers=[dict(name="a", riser_in=63.5)], limbs=[]), dict(limbs=[]),
                           dict(risers=[dict(name="a", riser_in=25)], limbs=[dict(name="b", marked_weight_lbf=-36)]),
                           dict(risers=[dict(name="a", riser_in=25)], limbs=[], pairs=[dict(riser=0, limbs=0, fit="true")])], 14):
    cases.append(dict(id=f"cb{i}", method="combinations", source="what nobody has", rel=0, abs=0, input=given, expect_error=True))
# Weights that were measured: one changes the order, one passes a limit that the rule keeps, one is measured twice.
near = dict(risers=[dict(name=f"riser {i}", riser_in=D(25), limits=dict(most_weight_lbf=D("44.5"))) for i in range(3)],
            limbs=[dict(name="limbs 0", limb_length="medium", marked_weight_lbf=D(36)), dict(name="limbs 1", limb_length="medium")],
            draw_length_in=D("28.1"), wanted_lbf=D("36.5"))
add("cb18", dict(near, weights=[dict(riser=2, limbs=0, lbf=D("36.6")), dict(riser=0, limbs=0, lbf=D("44.6")),
                                dict(riser=1, limbs=1, lbf=D("30")), dict(riser=1, limbs=1, lbf=D("37.25"))]))
braced = dict(risers=[dict(name="riser 0", riser_in=D(25), limits=dict(least_brace_mm=D(220))), dict(name="riser 1", riser_in=D(25))],
              limbs=[dict(name="limbs 0", limb_length="medium", limits=dict(most_brace_mm=D(210))),
                     dict(name="limbs 1", limb_length="medium", limits=dict(least_brace_mm=D(205), most_brace_mm=D(220)))],
              draw_length_in=D("28.1"))
add("cb20", braced)
cases.append(dict(id="cb19", method="combinations", source="what nobody has", rel=0, abs=0, expect_error=True,
                  input=plain(dict(near, weights=[dict(riser=0, limbs=0, lbf=D("-36"))]))))
# A loose pair of the best limbs stands last, behind what a maker does not allow; a pair that is true by bolts beyond a limit
# stands with what was not measured.
paired = dict(risers=[dict(name=f"riser {i}", riser_in=D(25), limits=dict(most_weight_lbf=D("44.5"))) for i in range(2)],
              limbs=[dict(name="limbs 0", limb_length="medium", marked_weight_lbf=D(36)),
                     dict(name="limbs 1", limb_length="long", marked_weight_lbf=D(50))],
              draw_length_in=D("28.1"))
add("cb21", dict(paired, pairs=[dict(riser=0, limbs=0, fit="loose"), dict(riser=0, limbs=1, fit="true")]))
add("cb22", dict(paired, pairs=[dict(riser=1, limbs=0, fit="true", beyond=True), dict(riser=1, limbs=1, fit="tight")]))
add("cb23", dict(paired, pairs=[dict(riser=1, limbs=0, fit="true", beyond=False)]))
# The string at hand bounds the brace height too; of two the one counts whose limits can be kept; off the table, the nearest end.
strung = dict(risers=[dict(name="riser 0", riser_in=D(25), limits=dict(least_brace_mm=D(210), most_brace_mm=D(230)))],
              limbs=[dict(name="limbs 0", limb_length="medium"), dict(name="limbs 1", limb_length="long", limits=dict(most_brace_mm=D(217)))],
              strings=[dict(name="string 0", bow_length_in=D(68), limits=dict(least_brace_mm=D(240))),
                       dict(name="string 1", bow_length_in=D(68), limits=dict(most_brace_mm=D(220)))],
              draw_length_in=D("28.1"))
add("cb24", strung)
print(json.dumps(dict(cases=cases)))
