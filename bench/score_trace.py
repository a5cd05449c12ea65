#!/usr/bin/python3
"""Scores `goodside trace` on generated works (trace_works.py), beside exact Bayes and a majority rule (trace_bayes.py).

    score_trace.py --goodside PROGRAM FOLDER [--jobs N] [--again] [--alone] [--detail]   the works in FOLDER
    score_trace.py --goodside PROGRAM --search N [--model NAME] [--cartons]       N searches of an onset
    without --goodside only the yardsticks are shown.

What counts
  families    a recurring fault that was reported on 3 discs or more; found when an entry lies within 6 sigma (at least 20 ms)
              of its place (of any of its turns, for a scratch). Those on fewer discs count neither way.
  false       an entry on 2 discs or more, blaming more than a disc or dust, at no planted place; and one that blames a part
              for what one disc alone has. Told for 200 works.
  right       the cause named touched the same heard discs since birth as the true one. "exactly": it is the true one; "taken
              as one cause": the posteriors of nodes that touched the same discs are added, and the greatest sum is named.
  sure        causes given 0.95 or more; "with its like": the posteriors of all nodes that touched the same discs added.
  reliability causes given with such a probability against how often the very node was right, and with its like.
  coverage    the onset's 90 % interval holds the true first impression; of a fault since birth, any from its part's first
              closing to the first disc heard that carries it (no hearing can tell those apart). Over all families found.
              "mid-life": those that began at an impression, where no atom of the prior helps.
  search      one fault of one stamper (1,000 closings), 4 to 8 of each stamper's discs heard. The judge hears what `next` asks
              (first act of hearing that names a disc or a carton), with the model's missed detections, and traces again, 8
              times (log2(100) + 2 = 8.6). It starts where exact Bayes lists the fault. Success: |best - true| <= 10. Exact
              Bayes hears the disc of most information; the oracle is told part, place and strength as well.
"""
import argparse
import json
import math
import multiprocessing
import pathlib
import sys
import tempfile

import numpy as np

import measured
import trace_bayes
import trace_works

EDGES = [0.0, 0.2, 0.4, 0.6, 0.8, 0.9, 0.95, 0.99, 1.0001]
HEARINGS = 8
WITHIN = 10
ALONE = ("disc", "dust")


def run(program, folder, target):
    """Runs the tracing. Returns (recurring or None, refused, seconds, peak MB, message)."""
    command = [program, "trace", "--family", folder / "family.json", "--reports", folder / "reports", "--json", target]
    status, seconds, peak_MB, message = measured.measure(command)
    if status not in (0, 1):
        return None, [], seconds, peak_MB, f"exit {status}: {message}"
    try:
        answer = json.loads(pathlib.Path(target).read_text())
        return answer["recurring"], answer.get("refused") or [], seconds, peak_MB, ""
    except (OSError, ValueError, KeyError) as why:
        return None, [], seconds, peak_MB, f"no readable answer: {why!r}"


# ---- one works -------------------------------------------------------------------------------------------------------

def tolerance_s(truth):
    return max(0.02, 6.0 * truth["sigma_s"])


def places_of(fault, truth):
    return [fault["programme_s"] + k * 60 / truth["rpm"] for k in range(fault["turns"])]


def near_fault(entry, truth):
    """The planted fault whose place is nearest to the entry's, if within tolerance."""
    best = None
    for fault in truth["faults"]:
        away = min(abs(entry["programme_s"] - t) for t in places_of(fault, truth))
        if away <= tolerance_s(truth) and (best is None or away < best[0]):
            best = (away, fault)
    return best[1] if best else None


def posterior_of(entry, nodes):
    given = [entry["cause"], *(entry.get("alternatives") or [])]
    seen = {c["id"]: c.get("posterior") or 0.0 for c in reversed(given)}
    return sum(p for node, p in seen.items() if node in nodes)


def best_class(entry, truth):
    """The nodes that touched the same discs whose posteriors add up to most."""
    classes = {}
    for c in [entry["cause"], *(entry.get("alternatives") or [])]:
        discs = tuple(truth["touched"].get(c["id"], [c["id"]]))
        classes.setdefault(discs, set()).add(c["id"])
    return max(classes.values(), key=lambda nodes: posterior_of(entry, nodes))


def judge(entries, truth):
    """Rows of the families that count, and the false entries, of one works."""
    chosen, false, split = {}, [], 0
    for entry in entries:
        fault = near_fault(entry, truth)
        if fault is None:
            if entry["cause"]["level"] in ALONE or len(entry["on"]) < 2:
                continue
            false.append(entry)
            continue
        before = chosen.get(fault["id"])
        split += before is not None
        if before is None or len(entry["on"]) > len(before["on"]):
            chosen[fault["id"]] = entry
    rows = [row_of(fault, chosen.get(fault["id"]), truth) for fault in truth["faults"] if fault["counts"]]
    alone = [e for e in false if any(abs(e["programme_s"] - a["programme_s"]) <= tolerance_s(truth) for a in truth["alone"])]
    return {"rows": rows, "false": len(false),
            "false_of_3": sum(len(e["on"]) >= 3 for e in false), "blamed": len(alone), "split": split,
            "false_entries": [{k: e.get(k) for k in ("programme_s", "on", "cause")} for e in false]}


def row_of(fault, entry, truth):
    row = {k: fault[k] for k in ("level", "node", "how", "onset_low", "onset_high", "detection", "last")}
    row |= {"carrying": len(fault["carrying"]), "reported": len(fault["reported"]), "found": entry is not None}
    if entry is None:
        return row
    cause = entry["cause"]
    onset = cause.get("onset") or {}
    same = set(fault["same"])
    # Nodes that touched the same discs as the one that is named share its claim.
    touched = truth["touched"].get(cause["id"])
    like = {n for n, discs in truth["touched"].items() if discs == touched} | {cause["id"]}
    row |= {"named": f"{cause['level']} {cause['id']}", "posterior": cause["posterior"], "exact": cause["id"] == fault["node"],
            "right": cause["id"] in same, "like": posterior_of(entry, like), "on_true": posterior_of(entry, same),
            "class_right": bool(best_class(entry, truth) & same),
            "low": onset.get("low"), "high": onset.get("high"), "best": onset.get("best")}
    if row["low"] is not None and row["high"] is not None:
        row["covered"] = row["low"] <= fault["onset_high"] and row["high"] >= fault["onset_low"]
        row["wide"] = row["high"] - row["low"] + 1
    return row


def yardsticks(folder, truth):
    """Exact Bayes, the same told of the steps only what is written, and the majority rule; kept, as they never change."""
    kept = folder / "yardsticks.json"
    answer = json.loads(kept.read_text()) if kept.exists() else {}
    if "as written" in answer:
        return answer
    works = trace_works.make(truth["model"], truth["seed"], truth.get("small", False))
    if not answer:
        answer = {"exact Bayes": trace_bayes.exact_bayes(works), "majority rule": trace_bayes.majority_rule(works)}
    # Where every step is written both know the same.
    answer["as written"] = answer["exact Bayes"] if works.model.steps_noted == 1.0 else \
        trace_bayes.exact_bayes(works, trace_works.causes_as_written(works))
    for entry in answer["exact Bayes"] + answer["as written"]:
        entry["alternatives"] = [a for a in entry["alternatives"] if a["posterior"] > 1e-4]
    kept.write_text(json.dumps(answer))
    return answer


def score_works(job):
    program, folder, again, alone = job
    folder = pathlib.Path(folder)
    truth = json.loads((folder / "truth.json").read_text())
    answers = {} if alone else yardsticks(folder, truth)
    figures = {"name": folder.name, "heard": truth["heard"], "message": "", "seconds": 0.0, "peak_MB": 0.0, "refused": []}
    if program:
        target = folder / "trace.json"
        if again:
            target.unlink(missing_ok=True)
        entries, refused, seconds, peak_MB, message = run(program, folder, target)
        figures |= {"message": message, "seconds": seconds, "peak_MB": peak_MB, "refused": refused[:3]}
        answers["goodside"] = [e for e in entries or [] if e.get("side", "A") == "A" and e.get("programme_s") is not None]
    figures["judged"] = {who: judge(entries, truth) for who, entries in answers.items()}
    return figures


# ---- the summary -----------------------------------------------------------------------------------------------------

def share(hits, n):
    return f"{100 * hits / n:5.1f} %" if n else "    -  "


def summary_of(works, who):
    judged = [w["judged"][who] for w in works if who in w["judged"]]
    rows = [r for j in judged for r in j["rows"]]
    found = [r for r in rows if r["found"]]
    spans = [r for r in found if "covered" in r]
    middle = [r for r in spans if r["how"] == "impression"]
    sure, like = [r for r in found if r["posterior"] >= 0.95], [r for r in found if r["like"] >= 0.95]
    return {"families": len(rows), "found": len(found), "false_200": 200 * sum(j["false"] for j in judged) / max(len(judged), 1),
            "false_of_3": 200 * sum(j["false_of_3"] for j in judged) / max(len(judged), 1),
            "blamed": sum(j["blamed"] for j in judged), "split": sum(j["split"] for j in judged),
            "right": sum(r["right"] for r in found), "exact": sum(r["exact"] for r in found),
            "class_right": sum(r["class_right"] for r in found),
            "sure": len(sure), "sure_right": sum(r["right"] for r in sure), "sure_exact": sum(r["exact"] for r in sure),
            "like": len(like), "like_right": sum(r["right"] for r in like),
            "covered": sum(r["covered"] for r in spans), "spans": len(spans),
            "middle_covered": sum(r["covered"] for r in middle), "middle": len(middle),
            "wide": float(np.median([r["wide"] for r in middle])) if middle else math.nan, "rows": found}


def print_summary(works):
    names = [n for n in ("goodside", "exact Bayes", "as written", "majority rule") if n in works[0]["judged"]]
    all_of = {n: summary_of(works, n) for n in names}
    lines = [("families found", lambda s: share(s["found"], s["families"])),
             ("false families in 200 works", lambda s: f"{s['false_200']:5.1f}"),
             ("  of these, on 3 discs or more", lambda s: f"{s['false_of_3']:5.1f}"),
             ("  one disc's own (count)", lambda s: f"{s['blamed']:5d}"),
             ("entries for a family found already", lambda s: f"{s['split']:5d}"),
             ("causes right, up to what is alike", lambda s: share(s["right"], s["found"])),
             ("  what is alike taken as one cause", lambda s: share(s["class_right"], s["found"])),
             ("causes right exactly", lambda s: share(s["exact"], s["found"])),
             ("families whose cause is given >= 0.95", lambda s: share(s["sure"], s["found"])),
             ("  of these right up to what is alike", lambda s: share(s["sure_right"], s["sure"])),
             ("  of these right exactly", lambda s: share(s["sure_exact"], s["sure"])),
             (">= 0.95 with its like", lambda s: share(s["like"], s["found"])),
             ("  of these right", lambda s: share(s["like_right"], s["like"])),
             ("onset within the 90 % interval", lambda s: share(s["covered"], s["spans"])),
             ("  of those begun in mid-life", lambda s: share(s["middle_covered"], s["middle"])),
             ("  their interval's median width", lambda s: f"{s['wide']:5.0f}")]
    print(f"{len(works)} works, {all_of[names[0]]['families']} families on 3 discs or more")
    print(f"{'':40}" + "".join(f"{n:>15}" for n in names))
    for text, figure in lines:
        print(f"{text:40}" + "".join(f"{figure(all_of[n]):>15}" for n in names))
    for n in names:
        print_reliability(n, all_of[n]["rows"])
    if "goodside" in names:
        print_times(works)
    return all_of


def print_reliability(who, rows):
    print(f"\nreliability, {who}: given, then right; the very node, and with its like")
    for low, high in zip(EDGES, EDGES[1:]):
        node = [(r["posterior"], r["exact"]) for r in rows if low <= r["posterior"] < high]
        like = [(r["like"], r["right"]) for r in rows if low <= min(r["like"], 1.0) < high]
        print(f"  {low:.2f} to {min(high, 1.0):.2f}  {given_and_right(node)}   {given_and_right(like)}")


def given_and_right(pairs):
    if not pairs:
        return f"{0:6d}      -      -"
    return f"{len(pairs):6d}  {np.mean([p for p, _ in pairs]):.3f}  {np.mean([x for _, x in pairs]):.3f}"


def print_times(works):
    seconds = np.array([w["seconds"] for w in works])
    broken = [w for w in works if w["message"]]
    print(f"\ngoodside: {np.median(seconds):.3f} s a works in the median, {seconds.max():.3f} s at most (reading the reports "
          f"included), {max(w['peak_MB'] for w in works):.0f} MB at most; {len(broken)} works without an answer, "
          f"{sum(bool(w['refused']) for w in works)} with inputs refused")
    for w in broken[:5]:
        print(f"  {w['name']}: {w['message']}")
    for w in [w for w in works if w["refused"]][:3]:
        print(f"  {w['name']}: refused {w['refused']}")


def print_detail(works):
    for w in works:
        for who, judged in w["judged"].items():
            if who == "majority rule":
                continue
            for r in judged["rows"]:
                if not r["found"] or not r["right"] or not r.get("covered", True):
                    print(f"{w['name']} {who}: {r}")
            for e in judged["false_entries"]:
                print(f"{w['name']} {who} FALSE: {e['programme_s']:.4f} on {len(e['on'])} {e['cause']}")


# ---- the search ------------------------------------------------------------------------------------------------------

def hear_again(works, impression, spot_s, low=0, high=0):
    """The judge's answer to a suggested hearing: one more play, whole or of the one place."""
    rng = works.rng
    disc = next((d for d in works.discs if d.impression == impression), None)
    if disc is None:
        k = (impression - 1) // 1000
        disc = trace_works.Disc(f"D{impression:06d}", impression, k, k, low or impression, high or impression, True)
        works.discs.append(disc)
        disc.own = trace_works.own_faults(rng, works)
        if impression in works.shelf:
            works.shelf.remove(impression)
    heard = [[max(spot_s - 1.0, 0.0), min(spot_s + 1.0, works.length_s)]] if spot_s is not None else [[0.0, works.length_s]]
    own = getattr(disc, "own", [])
    disc.plays.append(trace_works.play(rng, works, disc, own, "reseated" if disc.plays else "as found", heard))


def search_goodside(program, works, folder):
    """Follows `next`. Returns (errors after each hearing, note)."""
    fault, errors = works.faults[0], []
    truth = {"sigma_s": works.sigma_s, "rpm": works.rpm, "faults": [{**fault}]}
    for hearing in range(HEARINGS + 1):
        trace_works.write(works, folder)
        entries, _, _, _, message = run(program, folder, folder / "trace.json")
        entry = next((e for e in entries or [] if e.get("programme_s") is not None and near_fault(e, truth)), None)
        if entry is None:
            return errors + [math.inf], message or "not found"
        best = (entry["cause"].get("onset") or {}).get("best")
        errors.append(abs(best - fault["onset"]) if best is not None else math.inf)
        if hearing == HEARINGS:
            break
        act = next((a for a in entry.get("next") or [] if "hear" in a["act"] and (a.get("disc") or a.get("carton"))), None)
        if act is None:
            return errors, "no hearing suggested"
        spot_s = entry["programme_s"] if act["act"] != "hear" else None
        if act.get("disc"):
            hear_again(works, int(act["disc"][1:]), spot_s)
        else:
            low = (int(act["carton"][1:]) - 1) * works.carton + 1
            hear_again(works, int(works.rng.integers(low, low + works.carton)), spot_s, low, low + works.carton - 1)
    return errors, ""


def entropy(p):
    p = np.clip(p, 1e-12, 1 - 1e-12)
    return -(p * np.log(p) + (1 - p) * np.log(1 - p))


def search_bayes(works, oracle):
    """The same search by exact Bayes; `oracle`: part, place and strength are known too."""
    fault, errors, prior = works.faults[0], [], None
    k = next(iter(fault["spans"]))
    if oracle:
        prior = [trace_works.Cause(1.0, "stamper", fault["node"], (), k, ("uniform", 2, 1000), ("at", 1001), "impression")]
    for hearing in range(HEARINGS + 1):
        evidence, hypotheses = trace_bayes.Evidence(works), trace_bayes.Hypotheses(works, prior)
        if oracle:
            nearest = np.argmin(np.abs(evidence.model.grid_dB - fault["strength"]))
            weight = np.full(len(evidence.model.grid_dB), 1e-12)
            weight[nearest] = 1.0
            evidence.log_weight = (np.log(weight)[:, None] + np.log(trace_works.KIND_SHARE)[None, :]).ravel()
        at = evidence.centre(fault["programme_s"])
        _, posterior, combinations, _ = trace_bayes.weigh(hypotheses, evidence, at)
        onset = trace_bayes.onset_of(hypotheses, posterior, works.impressions)
        errors.append(abs(onset["best"] - fault["onset"]))
        if hearing == HEARINGS:
            break
        detection = float(combinations.reshape(len(evidence.detection), -1).sum(axis=1) @ evidence.detection)
        hear_again(works, best_disc(works, hypotheses, posterior, detection), at)
    return errors


def best_disc(works, hypotheses, posterior, detection):
    """The impression whose hearing tells most: I = H(p d) - p H(d), p the probability that it carries the fault."""
    carries = np.zeros(works.impressions + 2)
    for p, row, spans in zip(posterior, hypotheses.rows, hypotheses.carried):
        if p < 1e-9:
            continue
        for k, begin, before in spans:
            impressions, group = works.stampers[k].impressions, len(row[3])
            # An onset anywhere in its group of closings: the probability rises linearly over it.
            first = int(round(begin - 0.5 * (group - 1)))
            ramp = np.minimum(np.arange(1, len(impressions) - first + 2) / group, 1.0)
            ramp[max(int(math.ceil(before)) - first, 0):] = 0.0
            carries[impressions[first - 1:]] += p * ramp
    p = np.clip(carries[1:works.impressions + 1], 0.0, 1.0)
    gain = entropy(p * detection) - p * entropy(detection)
    return int(np.argmax(gain)) + 1


def known(works):
    """Exact Bayes would list the fault before any further hearing."""
    evidence = trace_bayes.Evidence(works)
    odds, *_ = trace_bayes.weigh(trace_bayes.Hypotheses(works), evidence, evidence.centre(works.faults[0]["programme_s"]))
    return odds > trace_bayes.LEAST_LOG_ODDS


def search_one(job):
    program, model, seed, listed, yardstick = job
    result = {"seed": seed}
    if program:
        with tempfile.TemporaryDirectory() as folder:
            result["goodside"], result["note"] = search_goodside(program, trace_works.make_search(model, seed, listed, known),
                                                                 pathlib.Path(folder))
    if yardstick:
        result["exact Bayes"] = search_bayes(trace_works.make_search(model, seed, True, known), False)
        result["oracle"] = search_bayes(trace_works.make_search(model, seed, True, known), True)
    return result


def print_search(results, title):
    print(f"\nsearch of an onset, {title}: within +-{WITHIN} of 1,000 after so many further hearings")
    names = [n for n in ("goodside", "exact Bayes", "oracle") if n in results[0]]
    print(f"{'':12}" + "".join(f"{n:>9}" for n in range(HEARINGS + 1)))
    shares = {}
    for n in names:
        paths = [r[n] + [r[n][-1]] * (HEARINGS + 1 - len(r[n])) for r in results]
        shares[n] = [float(np.mean([p[h] <= WITHIN for p in paths])) for h in range(HEARINGS + 1)]
        print(f"{n:12}" + "".join(f"{100 * s:7.1f} %" for s in shares[n]))
    notes = [r["note"] for r in results if r.get("note")]
    if notes:
        print(f"  {len(notes)} searches ended early: " + "; ".join(sorted(set(notes))[:4]))
    return shares


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", nargs="?", type=pathlib.Path)
    parser.add_argument("--goodside", type=pathlib.Path)
    parser.add_argument("--jobs", type=int, default=multiprocessing.cpu_count())
    parser.add_argument("--again", action="store_true")
    parser.add_argument("--alone", action="store_true", help="without the yardsticks, which take most of the time")
    parser.add_argument("--detail", action="store_true", help="name every miss, wrong cause, false family and uncovered onset")
    parser.add_argument("--search", type=int, default=0, metavar="N")
    parser.add_argument("--model", choices=sorted(trace_works.MODELS), default="logistic")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--cartons", action="store_true", help="discs are known by cartons of 10 alone")
    args = parser.parse_args()
    if not args.folder and not args.search:
        parser.error("a folder of works, or --search N")
    program = str(args.goodside.resolve()) if args.goodside else None
    with multiprocessing.Pool(args.jobs) as pool:
        if args.folder:
            folders = sorted(p.parent for p in args.folder.glob("**/truth.json"))
            if not folders:
                sys.exit(f"{args.folder}: no works here; make some with trace_works.py --out {args.folder}")
            works = pool.map(score_works, [(program, str(f), args.again, args.alone) for f in folders], chunksize=1)
            if args.detail:
                print_detail(works)
            print_summary(works)
        if args.search:
            jobs = [(program, args.model, args.seed + i, not args.cartons, not args.cartons) for i in range(args.search)]
            print_search(pool.map(search_one, jobs, chunksize=1), f"model {args.model}" + (", cartons" if args.cartons else ""))


if __name__ == "__main__":
    main()
