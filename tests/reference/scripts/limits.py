"""Makes tests/reference/cases/limits.json: figures beside limits, worked in exact fractions.

Run from the top: python3 tests/reference/scripts/limits.py > tests/reference/cases/limits.json
Python 3, its standard library alone. What lies beyond a limit is a comparison and a difference; the rules are written
down here once more, each as the sentence that it is.
"""
import json
from fractions import Fraction as F

SOURCE = (
    "compared and subtracted in exact fractions; makers' limits as given, floor of 5 gr/lbf, steps of 2 lbf, far beyond "
    "4 lbf or a tenth, 3 mm beside a limb: common practice, no source"
)
AMO = "AMO Standards, Field Publication FP-3 (2000)"
PRACTICE = "common practice, no source"
#: The order of the work, as far as findings stand beside it.
ORDER = [
    "limbs", "limb_lateral_top_mm", "limb_lateral_bottom_mm", "limb_bolt_top_turns", "limb_bolt_bottom_turns",
    "string", "brace_height_mm", "draw_weight_lbf", "arrows",
]


def f(text):
    return F(str(text))


def found(code, setting, figure, limit, unit, whose, severity):
    return {
        "code": code, "setting": setting, "figure": float(figure), "limit": float(limit),
        "beyond": float(abs(figure - limit)), "unit": unit, "whose": whose, "severity": severity,
    }


def weights(given):
    if "draw_weight_lbf" in given:
        return f(given["draw_weight_lbf"]), f(given["draw_weight_lbf"])
    if "draw_weight_range_lbf" in given:
        return tuple(f(v) for v in given["draw_weight_range_lbf"])
    return None


def few_grains(given, least, whose):
    """Stops when even the least weight makes the arrow too light, else it is to be looked at."""
    weight = weights(given)
    if weight is None or "arrow_gr" not in given:
        return []
    low, high = weight
    arrow, least = f(given["arrow_gr"]), f(least)
    if arrow / high >= least:
        return []
    stops = arrow / low < least
    return [found("grains_few", "arrows", arrow / high, least, "gr/lbf", whose, "stop" if stops else "look")]


def of_part(given, part):
    whose, out = "the maker of the " + part["part"], []
    for side in ("top", "bottom"):
        setting = f"limb_bolt_{side}_turns"
        if setting in given:
            turns = f(given[setting])
            if "most_bolt_turns" in part and turns > f(part["most_bolt_turns"]):
                out.append(found("bolt_out", setting, turns, f(part["most_bolt_turns"]), "turns", whose, "stop"))
            if "least_bolt_turns" in part and turns < f(part["least_bolt_turns"]):
                out.append(found("bolt_in", setting, turns, f(part["least_bolt_turns"]), "turns", whose, "stop"))
    weight = weights(given)
    if weight:
        low, high = weight
        if "most_weight_lbf" in part and high > f(part["most_weight_lbf"]):
            most = f(part["most_weight_lbf"])
            how = "stop" if low > most else "look"
            out.append(found("weight_above", "draw_weight_lbf", high, most, "lbf", whose, how))
        if "least_weight_lbf" in part and high < f(part["least_weight_lbf"]):
            least = f(part["least_weight_lbf"])
            out.append(found("weight_below", "draw_weight_lbf", high, least, "lbf", whose, "look"))
    if "draw_length_in" in given and "most_draw_in" in part and f(given["draw_length_in"]) > f(part["most_draw_in"]):
        draw, most = f(given["draw_length_in"]), f(part["most_draw_in"])
        out.append(found("draw_above", "limbs", draw, most, "in", whose, "stop"))
    if "brace_height_mm" in given:
        brace = f(given["brace_height_mm"])
        if "most_brace_mm" in part and brace > f(part["most_brace_mm"]):
            most = f(part["most_brace_mm"])
            out.append(found("brace_above", "brace_height_mm", brace, most, "mm", whose, "stop"))
        if "least_brace_mm" in part and brace < f(part["least_brace_mm"]):
            least = f(part["least_brace_mm"])
            out.append(found("brace_below", "brace_height_mm", brace, least, "mm", whose, "stop"))
    if "arrow_gr" in given:
        if "least_arrow_gr" in part and f(given["arrow_gr"]) < f(part["least_arrow_gr"]):
            arrow, least = f(given["arrow_gr"]), f(part["least_arrow_gr"])
            out.append(found("arrow_light", "arrows", arrow, least, "gr", whose, "stop"))
        if "least_grains_per_pound" in part:
            out += few_grains(given, part["least_grains_per_pound"], whose)
    return out


def answer(given):
    parts, out = given.get("parts", []), []
    for part in parts:
        out += of_part(given, part)
    bearing = [p for p in parts if p["part"] in ("riser", "limbs")]
    if not any("least_arrow_gr" in p or "least_grains_per_pound" in p for p in bearing):
        out += few_grains(given, 5, PRACTICE)
    if weights(given) and "shot_weight_lbf" in given:
        low, shot = weights(given)[0], f(given["shot_weight_lbf"])
        if low - shot > 2 and (low - shot > 4 or low - shot > shot / 10):
            out.append(found("weight_far", "draw_weight_lbf", low, shot, "lbf", PRACTICE, "stop"))
        elif low - shot > 2:
            out.append(found("weight_step", "draw_weight_lbf", low, shot, "lbf", PRACTICE, "look"))
    for side in ("top", "bottom"):
        setting = f"limb_lateral_{side}_mm"
        if setting in given and abs(f(given[setting])) > 3:
            out.append(found("string_aside", setting, abs(f(given[setting])), F(3), "mm", PRACTICE, "look"))
    if given.get("fit") in ("tight", "loose"):
        out.append(found("pair_" + given["fit"], "limbs", F(1), F(0), "pairs", PRACTICE, "stop"))
    if "string_for_in" in given and "bow_length_in" in given:
        of, bow = f(given["string_for_in"]), f(given["bow_length_in"])
        if abs(of - bow) > F(1, 2):
            out.append(found("string_other", "string", of, bow, "in", PRACTICE, "stop" if abs(of - bow) > 1 else "look"))
    if "arrow_length_in" in given and "draw_length_in" in given:
        least = f(given["draw_length_in"]) - F(7, 4)
        if f(given["arrow_length_in"]) < least:
            out.append(found("arrow_short", "arrows", f(given["arrow_length_in"]), least, "in", AMO, "stop"))
    if given.get("carbon") and given.get("missed", 0) > 0:
        out.append(found("carbon_missed", "arrows", F(given["missed"]), F(0), "arrows", PRACTICE, "look"))
    out.sort(key=lambda one: (one["severity"] != "stop", ORDER.index(one["setting"])))
    return {"findings": out, "stop": any(one["severity"] == "stop" for one in out)}


RISER = {"part": "riser", "least_bolt_turns": 0.5, "most_bolt_turns": 4, "most_weight_lbf": 50}
LIMBS = {
    "part": "limbs", "most_bolt_turns": 3.5, "most_weight_lbf": 40, "least_weight_lbf": 30, "most_draw_in": 29.5,
    "least_brace_mm": 205, "most_brace_mm": 230, "least_grains_per_pound": 7, "least_arrow_gr": 280,
}
CASES = [
    {},
    {"limb_bolt_top_turns": 4, "limb_bolt_bottom_turns": 0.5, "parts": [RISER]},
    {"limb_bolt_top_turns": 4.125, "limb_bolt_bottom_turns": 0.25, "parts": [RISER]},
    {"limb_bolt_top_turns": 3.75, "limb_bolt_bottom_turns": 3.75, "parts": [RISER, LIMBS]},
    {"draw_weight_lbf": 40, "parts": [RISER, LIMBS]},
    {"draw_weight_lbf": 50.5, "parts": [RISER, LIMBS]},
    {"draw_weight_range_lbf": [38, 42], "parts": [LIMBS]},
    {"draw_weight_range_lbf": [40.5, 44.5], "parts": [LIMBS]},
    {"draw_weight_lbf": 26, "parts": [LIMBS]},
    {"draw_length_in": 29.5, "brace_height_mm": 205, "parts": [LIMBS]},
    {"draw_length_in": 30.25, "brace_height_mm": 198.5, "archer": "Ash", "parts": [LIMBS]},
    {"brace_height_mm": 231, "parts": [LIMBS]},
    {"arrow_gr": 279, "draw_weight_lbf": 39, "parts": [LIMBS]},
    {"arrow_gr": 285, "draw_weight_range_lbf": [39, 41], "parts": [LIMBS]},
    {"arrow_gr": 250, "draw_weight_lbf": 40, "parts": [RISER]},
    {"arrow_gr": 199, "draw_weight_lbf": 40, "parts": [RISER]},
    {"arrow_gr": 200, "draw_weight_lbf": 40},
    {"arrow_gr": 190, "draw_weight_range_lbf": [37, 41]},
    {"draw_weight_lbf": 38, "shot_weight_lbf": 36},
    {"draw_weight_lbf": 38.25, "shot_weight_lbf": 36},
    {"draw_weight_lbf": 39.75, "shot_weight_lbf": 36, "archer": "Birch"},
    {"draw_weight_lbf": 50, "shot_weight_lbf": 46},
    {"draw_weight_range_lbf": [40, 44], "shot_weight_lbf": 35},
    {"draw_weight_lbf": 22.25, "shot_weight_lbf": 20},
    {"limb_lateral_top_mm": 3, "limb_lateral_bottom_mm": -3.5},
    {"carbon": True, "missed": 2},
    {"carbon": False, "missed": 2},
    {
        "limb_bolt_top_turns": 5, "draw_weight_lbf": 44, "shot_weight_lbf": 36, "arrow_gr": 270, "carbon": True,
        "missed": 1, "limb_lateral_top_mm": 4, "brace_height_mm": 240, "draw_length_in": 31, "parts": [RISER, LIMBS],
    },
    {"arrow_gr": 190, "draw_weight_lbf": 40, "parts": [{"part": "string", "least_arrow_gr": 150}]},
    {"arrow_gr": 250, "draw_weight_lbf": 40, "parts": [LIMBS, {"part": "string", "least_grains_per_pound": 8}]},
    {"draw_weight_lbf": 16.75, "shot_weight_lbf": 15},
    {"fit": "true", "bow_length_in": 70, "string_for_in": 69.5, "draw_length_in": 28.5, "arrow_length_in": 26.75},
    {"fit": "loose", "bow_length_in": 70, "string_for_in": 71},
    {"fit": "tight", "bow_length_in": 70, "string_for_in": 68, "draw_length_in": 28.5, "arrow_length_in": 26.5, "archer": "Ash"},
]
REFUSED = [
    {"draw_weight_lbf": "40"},
    {"draw_weight_lbf": -1},
    {"draw_weight_range_lbf": [42, 38]},
    {"draw_weight_range_lbf": [42]},
    {"parts": [{"most_weight_lbf": 40}]},
    {"parts": [{"part": "limbs", "most_weight_lbf": "40"}]},
    {"carbon": "yes"},
    {"missed": -1},
    {"brace_height_mm": 100000},
    {"fit": "snug"},
    {"string_for_in": 178},
    {"draw_weight": 60},
    {"parts": [{"part": "limbs", "most_weight": 40}]},
    {"draw_weight_lbf": 40, "draw_weight_range_lbf": [30, 35]},
]
cases = [
    {"id": f"limits_{n:02}", "method": "limits", "source": SOURCE, "abs": 1e-9, "input": given, "expect": answer(given)}
    for n, given in enumerate(CASES, 1)
]
cases += [
    {"id": f"limits_bad_{n:02}", "method": "limits", "source": "outside what a bow has", "input": given, "expect_error": True}
    for n, given in enumerate(REFUSED, 1)
]
print(json.dumps({"cases": cases}, indent=1))
