#!/usr/bin/python3
"""Scores `goodside listen` on the cases of make_cases.py against their truth.

    score.py --goodside PROGRAM FOLDER... [--reports FOLDER] [--again] [--detail]

FOLDER is one case, or a folder of cases. --reports keeps the reports there and uses those that exist (unless --again).
One line a case, then a summary against what the product must reach and aims at.

What counts
  found      a reported fault overlaps the true one (3 ms of grace); masked ones are never required.
  false      a report that touches no true fault, no click of the surface's own, no clipped stretch and no seam.
             Reports on the surface's own clicks, on seams and on the needle's thump count neither way; the
             share of the time that the clicks cover is shown, for there a false alarm would not be seen.
  tick time  reported capture_s against the peak of the tick's own wave; the onset is shown beside it.
  track      programme_s of the reported faults against the true course at their reported capture_s, less the median;
             and the wow curve, integrated, less a straight line (rms, microseconds).
  rate       against the true mean over the heard programme, end to end or by regression, whichever is nearer: at 60 s an
             eccentric disc makes them differ by more than the tolerance.
  octaves    250 Hz to 9 kHz against the programme as played over the reference, by power.
  polar      cells against the surface's own energy above 1 kHz, less the median difference.
"""
import argparse
import json
import pathlib
import sys
import tempfile

import numpy as np

import measured

GRACE_S = 0.003
SEAM_S = 0.06
THUMP_S = 0.6


def get(tree, path, default=None):
    for key in path.split("."):
        if not isinstance(tree, dict) or tree.get(key) is None:
            return default
        tree = tree[key]
    return tree


def hear(program, folder, truth, target):
    """Runs the bench on a case. Returns (report or None, seconds, peak MB, message)."""
    command = [program, "listen", str(folder / "capture.wav"), "--reference", str(folder / truth["reference"]),
               *truth["options"], "--json", str(target)]
    status, seconds, peak_MB, message = measured.measure(command)
    if status not in (0, 1):
        return None, seconds, peak_MB, f"exit {status}: {message}"
    try:
        return json.loads(target.read_text()), seconds, peak_MB, ""
    except (OSError, ValueError) as why:
        return None, seconds, peak_MB, f"no readable report: {why}"


def overlaps(fault, from_s, to_s):
    at, length = fault["capture_s"], fault.get("duration_s") or 0.0
    return at - GRACE_S <= to_s and at + length + GRACE_S >= from_s


def match_faults(report, truth, row):
    """Recall, precision, times and classes of one case, into `row`."""
    reported = [f for f in report.get("faults") or [] if f.get("kind") not in ("jump", "repeat")
                and f.get("audibility") != "masked"]
    seams = [j["capture_s"] for j in truth["jumps"]]
    required = [f for f in truth["faults"] if f["required"] and all(abs(f["capture_s"] - s) > SEAM_S for s in seams)]
    everything = [(f["onset_s"], f["end_s"]) for f in truth["faults"]]
    neutral = [(c["capture_s"] - 0.004, c["capture_s"] + 0.004) for c in truth["own_clicks"]]
    neutral += [(c["from_s"], c["to_s"]) for c in truth["clipped"]]
    neutral += [(s - SEAM_S, s + SEAM_S) for s in seams] + [(0.0, THUMP_S)]

    row["missed"], row["ticks_ms"], row["onsets_ms"], row["kinds"], row["classes"] = [], [], [], [], []
    for grade in ("plain", "slight"):
        row[grade] = [0, 0]
    for fault in required:
        hits = [r for r in reported if overlaps(r, fault["onset_s"], fault["end_s"])]
        row[fault["audibility"]][1] += 1
        if not hits:
            row["missed"].append(fault)
            continue
        row[fault["audibility"]][0] += 1
        best = min(hits, key=lambda r: abs(r["capture_s"] - fault["capture_s"]))
        row["kinds"].append((fault["kind"], best["kind"]))
        row["classes"].append((fault["audibility"], best.get("audibility")))
        if fault["kind"] == "tick":
            row["ticks_ms"].append(1e3 * (best["capture_s"] - fault["capture_s"]))
            row["onsets_ms"].append(1e3 * (best["capture_s"] - fault["onset_s"]))
    true = [r for r in reported if any(overlaps(r, a, b) for a, b in everything)]
    aside = [r for r in reported if r not in true and any(overlaps(r, a, b) for a, b in neutral)]
    row["false"] = [r for r in reported if r not in true and r not in aside]
    row["true"], row["aside"] = len(true), len(aside)
    covered = sum(2 * (0.004 + GRACE_S) for _ in truth["own_clicks"])
    row["covered"] = covered / (truth["track"]["time_s"][-1] - truth["track"]["time_s"][0])


def match_jumps(report, truth, row):
    turn = 60 / truth["player"]["rpm"]
    reported = [f for f in report.get("faults") or [] if f.get("kind") in ("jump", "repeat")]
    row["jumps"], row["seams_ms"], row["false_jumps"] = [0, len(truth["jumps"])], [], 0
    used = set()
    for jump in truth["jumps"]:
        near = [k for k, r in enumerate(reported) if k not in used and abs(r["capture_s"] - jump["capture_s"]) < 0.2]
        if near:
            k = min(near, key=lambda k: abs(reported[k]["capture_s"] - jump["capture_s"]))
            used.add(k)
            size = reported[k].get("programme_jump_s")
            if size is not None and round(size / turn) == jump["turns"]:
                row["jumps"][0] += 1
                row["seams_ms"].append(1e3 * (reported[k]["capture_s"] - jump["capture_s"]))
    row["false_jumps"] = len(reported) - len(used)


def track_figures(report, truth, row):
    time_s, programme_s = (np.array(truth["track"][k]) for k in ("time_s", "programme_s"))
    seams = np.array([j["capture_s"] for j in truth["jumps"]])
    size = sum((j["jump_s"] for j in truth["jumps"]), 0.0)
    inside = (programme_s >= 0) & (programme_s <= truth["length_s"])
    a, b = np.flatnonzero(inside)[[0, -1]]
    smooth = programme_s - sum((j["jump_s"] * (time_s >= j["capture_s"]) for j in truth["jumps"]), np.zeros(time_s.size))
    end_to_end = (programme_s[b] - programme_s[a] - size) / (time_s[b] - time_s[a]) - 1
    regression = np.polyfit(time_s[a:b], smooth[a:b] - time_s[a:b], 1)[0]
    ppm = get(report, "alignment.speed_error_ppm")
    if ppm is not None:
        row["rate_ppm"] = min((ppm - 1e6 * v for v in (end_to_end, regression)), key=abs)
    start = get(report, "alignment.programme_start_s")
    if start is not None:
        row["start_ms"] = 1e3 * (start - truth["programme_start_s"])

    errors = []
    for fault in report.get("faults") or []:
        at = fault["capture_s"]
        if fault.get("programme_s") is None or fault["kind"] in ("jump", "repeat") or not time_s[a] < at < time_s[b]:
            continue
        if seams.size == 0 or np.min(np.abs(seams - at)) > 0.3:
            k = np.clip(np.searchsorted(time_s, at), 4, time_s.size - 5)
            window = slice(k - 4, k + 5)
            local = np.polyfit(time_s[window] - at, programme_s[window], 5)[-1]
            errors.append(fault["programme_s"] - local)
    if len(errors) >= 5:
        errors = 1e6 * (np.array(errors) - np.median(errors))
        row["fault_track_us"] = float(np.sqrt(np.mean(errors**2)))
    curve = get(report, "wow.curve")
    if curve and len(curve.get("time_s") or []) > 50:
        t, d = np.array(curve["time_s"], float), np.array(curve["deviation"], float)
        rate = np.gradient(smooth, time_s)
        keep = (t > time_s[a] + 0.5) & (t < time_s[b] - 0.5) & np.isfinite(d)
        t, d = t[keep], d[keep]
        if t.size > 50:
            gap = d - np.interp(t, time_s, rate - 1)
            if seams.size:
                gap[np.min(np.abs(t[:, None] - seams), axis=1) < 0.3] = np.median(gap)
            gap -= np.median(gap)
            drift = np.concatenate([[0], np.cumsum((gap[1:] + gap[:-1]) / 2 * np.diff(t))])
            drift -= np.polyval(np.polyfit(t, drift, 1), t)
            row["curve_us"] = float(1e6 * np.sqrt(np.mean(drift**2)))
    row["heard_s"] = float(time_s[b] - time_s[a])


def disc_figures(report, truth, row):
    player = truth["player"]
    e, found = player["eccentricity_m"], get(report, "wow.eccentricity_m")
    row["e_true_um"] = 1e6 * e
    if found is not None:
        row["e_um"] = 1e6 * (found - e)
        row["e_allowed_um"] = max(6.0, 2e4 * e)
        sigma = get(report, "wow.eccentricity_sigma_m")
        row["e_sigma_um"] = 1e6 * sigma if sigma else None
        direction = get(report, "wow.eccentricity_direction_deg")
        if direction is not None and e >= 1e-4:
            row["direction_deg"] = (direction - player["direction_deg"] + 180) % 360 - 180
    for way in ("lag", "lead"):
        heard, real = get(report, f"noise.echo.{way}_dB"), player.get(f"echo_{way}_dB")
        if real is not None:
            row.setdefault("echo_dB", []).append(None if heard is None else heard - real)
        elif heard is not None:
            row["false_echo"] = row.get("false_echo", 0) + 1
    rows = get(report, "levels.third_octave")
    if rows:
        errors = {False: [], True: []}
        for centre, left, right in truth["third_octave"]:
            near = min(rows, key=lambda r: abs(np.log(r["centre_Hz"] / centre)))
            if 240 < centre < 9100 and abs(np.log(near["centre_Hz"] / centre)) < 0.05:
                for crossed in errors:
                    pair = (near["right_dB"], near["left_dB"]) if crossed else (near["left_dB"], near["right_dB"])
                    errors[crossed] += [v - w for v, w in zip(pair, (left, right)) if v is not None]
        best = min((v for v in errors.values() if v), key=lambda v: np.mean(np.square(v)), default=None)
        if best:
            row["octave_dB"] = (float(np.sqrt(np.mean(np.square(best)))), float(np.max(np.abs(best))))
    polar_figures(report, truth, row)


def polar_figures(report, truth, row):
    polar = get(report, "noise.polar")
    if not polar or not truth["player"].get("hiss_polar_dB"):
        return
    cells = [[np.nan if v is None else v for v in line] for line in polar["dB"]]
    cells = np.array(cells, float)
    if cells.ndim != 2 or not cells.size:
        return
    power = 10 ** (np.array(truth["surface_100Hz_dB"]) / 10)
    at = (np.arange(power.size) + 0.5) * 0.01
    turns = np.interp(at, truth["track"]["time_s"], truth["track"]["programme_s"]) * truth["player"]["rpm"] / 60
    line = np.floor(turns / polar["revolutions_per_row"]).astype(int)
    column = np.floor((turns % 1) * polar["columns"]).astype(int)
    use = (turns >= 0) & (line < cells.shape[0]) & (column < cells.shape[1])
    total, count = np.zeros(cells.shape), np.zeros(cells.shape)
    np.add.at(total, (line[use], column[use]), np.minimum(power[use], 8 * np.median(power[use])))
    np.add.at(count, (line[use], column[use]), 1)
    good = (count >= 3) & np.isfinite(cells)
    if good.sum() >= 12:
        want, got = 10 * np.log10(total[good] / count[good]), cells[good]
        gap = got - want
        row["polar_dB"] = float(np.sqrt(np.mean((gap - np.median(gap)) ** 2)))
        row["polar_r"] = float(np.corrcoef(want, got)[0, 1])


def score_case(report, truth):
    row = {"found": bool(get(report, "alignment.found", False)), "want": truth["found"]}
    row["placed"] = row["found"] == row["want"]
    row["invented"] = not row["want"] and get(report, "wow.eccentricity_m") is not None
    if not (row["want"] and row["found"]):
        return row
    player = truth["player"]
    order = "swapped" if player["swap"] else "as cut"
    told = get(report, "alignment.channels")
    row["signs"] = get(report, "alignment.polarity") == player["polarity"] and (told in (order, "mono") if order == "as cut"
                                                                                else told == order)
    for part in (match_faults, match_jumps, track_figures, disc_figures):
        part(report, truth, row)
    return row


def shown(value, pattern="{:.2f}"):
    return "-" if value is None else pattern.format(value)


def print_case(name, title, row, seconds, peak_MB):
    placed = "placed" if row["found"] else "refused"
    if not row["placed"]:
        placed = "WRONGLY " + placed
    head = f"{name} {title[:44]:44s} {placed:8s}"
    cost = f"{seconds:5.1f} s {peak_MB:5.0f} MB" if seconds is not None else ""
    if "plain" not in row:
        print(f"{head} {'INVENTED ECCENTRICITY' if row['invented'] else ''} {cost}")
        return
    ticks = np.abs(row["ticks_ms"]) if row["ticks_ms"] else None
    octave = row.get("octave_dB")
    fields = [
        f"plain {row['plain'][0]}/{row['plain'][1]} slight {row['slight'][0]}/{row['slight'][1]}",
        f"false {len(row['false'])} (own {row['aside']}, {100 * row['covered']:.0f} % of the time)",
        f"tick {shown(None if ticks is None else np.median(ticks), '{:.3f}')}/"
        f"{shown(None if ticks is None else np.percentile(ticks, 95), '{:.3f}')} ms",
        f"track {shown(row.get('fault_track_us'))}/{shown(row.get('curve_us'))} us",
        f"rate {shown(row.get('rate_ppm'), '{:+.2f}')} ppm",
        f"e {shown(row.get('e_um'), '{:+.1f}')}±{shown(row.get('e_sigma_um'), '{:.1f}')} of {row['e_true_um']:.0f} um "
        f"{shown(row.get('direction_deg'), '{:+.1f}')} deg",
        f"octave {shown(octave and octave[0])}/{shown(octave and octave[1])} dB",
    ]
    if row["jumps"][1] or row["false_jumps"]:
        seam = f"{np.max(np.abs(row['seams_ms'])):.2f}" if row["seams_ms"] else "-"
        fields.append(f"jumps {row['jumps'][0]}/{row['jumps'][1]} false {row['false_jumps']} seam {seam} ms")
    if row.get("echo_dB") or row.get("false_echo"):
        fields.append(f"echo {[shown(v, '{:+.1f}') for v in row.get('echo_dB', [])]} false {row.get('false_echo', 0)}")
    if "polar_dB" in row:
        fields.append(f"polar {row['polar_dB']:.2f} dB r {row['polar_r']:.2f}")
    if not row["signs"]:
        fields.append("SIGN OR CHANNELS WRONG")
    print(f"{head} {' | '.join(fields)} {cost}")


def print_summary(rows):
    heard = [r for r in rows if "plain" in r]

    def pooled(key):
        return [v for r in heard for v in r.get(key, []) if v is not None]

    def each(key, some=lambda r: True):
        return [r[key] for r in heard if r.get(key) is not None and some(r)]

    def share(key):
        got, want = (sum(r[key][k] for r in heard) for k in (0, 1))
        return (100 * got / want if want else None), f"{got}/{want}"

    def line(what, value, must, aim, unit, more="", least=False):
        if value is None:
            verdict = "no evidence"
        else:
            meets = (lambda limit: value >= limit) if least else (lambda limit: value <= limit)
            verdict = "aim" if meets(aim) else "must" if meets(must) else "FALLS SHORT"
        print(f"  {what:46s} {shown(value, '{:8.3f}'):>8s} {unit:4s} must {must:<6g} aim {aim:<6g} {verdict:12s} {more}")

    def median(values):
        return float(np.median(np.abs(values))) if len(values) else None

    def upper(values, percent):
        return float(np.percentile(np.abs(values), percent)) if len(values) else None

    def rms_all(values):
        return float(np.sqrt(np.mean(np.square(values)))) if len(values) else None

    print("\nsummary")
    placed = sum(r["placed"] for r in rows)
    line("placed or refused rightly", 100 * placed / len(rows) if rows else None, 100, 100, "%", f"{placed}/{len(rows)}", True)
    line("eccentricity invented", float(sum(r["invented"] for r in rows)), 0, 0, "")
    if not heard:
        return
    for key, must, aim in (("plain", 99, 100), ("slight", 95, 99)):
        value, more = share(key)
        line(f"recall, {key}", value, must, aim, "%", more, True)
    true, false = sum(r["true"] for r in heard), sum(len(r["false"]) for r in heard)
    line("precision", 100 * true / (true + false) if true + false else None, 97, 99, "%", f"{false} false", True)
    for what, some, must, aim in (("vinyl", lambda r: not r["shellac"], 2, 0.5), ("shellac-type", lambda r: r["shellac"], 3, 1)):
        mine = [r for r in heard if some(r)]
        length = sum(r["heard_s"] for r in mine)
        value = 270 * sum(len(r["false"]) for r in mine) / length if length else None
        line(f"false alarms in 4.5 minutes, {what}", value, must, aim, "", f"{length:.0f} s heard")
    ticks = pooled("ticks_ms")
    line("tick time, median", median(ticks), 0.05, 0.02, "ms", f"signed {shown(np.median(ticks) if ticks else None, '{:+.3f}')}, "
         f"from the onset {shown(np.median(pooled('onsets_ms')) if ticks else None, '{:+.3f}')}")
    line("tick time, 95 % of them", upper(ticks, 95), 0.3, 0.04, "ms")
    line("track at faults, median of cases", median(each("fault_track_us")), 0.7, 0.2, "us")
    line("track from the wow curve, median of cases", median(each("curve_us")), 0.7, 0.2, "us")
    line("mean rate, median", median(each("rate_ppm")), 2, 0.3, "ppm")
    line("mean rate, worst", upper(each("rate_ppm"), 100), 2, 0.3, "ppm")
    sides = [r for r in heard if r["heard_s"] >= 59]
    over = [abs(r["e_um"]) / r["e_allowed_um"] for r in sides if r.get("e_um") is not None]
    line("eccentricity over max(6 um, 2 %), worst, >= 60 s", max(over) if over else None, 1, 0.5, "",
         f"{sum(v <= 1 for v in over)}/{len(over)} within, {len(sides) - len(over)} not determined")
    honest = [r["e_um"] / r["e_sigma_um"] for r in heard if r.get("e_sigma_um") and r.get("e_um") is not None]
    line("eccentricity error over its sigma, rms", rms_all(honest), 2, 1.5, "")
    line("direction, worst where e >= 0.1 mm, >= 60 s", upper([r["direction_deg"] for r in sides if "direction_deg" in r], 100),
         3, 1, "deg")
    jumps, more = share("jumps")
    line("skips and repeats, turns exact", jumps, 100, 100, "%", f"{more}, {sum(r['false_jumps'] for r in heard)} false", True)
    line("their seams, worst", upper(pooled("seams_ms"), 100), 1, 0.02, "ms")
    echoes = [v for r in heard for v in r.get("echo_dB", [])]
    line("echo error, worst", upper([v for v in echoes if v is not None], 100), 2, 1, "dB",
         f"{sum(v is None for v in echoes)} of {len(echoes)} not found, {sum(r.get('false_echo', 0) for r in heard)} false")
    octaves = each("octave_dB")
    line("third octaves, rms, median of cases", median([v[0] for v in octaves]), 0.4, 0.2, "dB")
    line("third octaves, worst", upper([v[1] for v in octaves], 100), 1.5, 0.6, "dB")
    line("polar noise, shellac-type, median of cases", median(each("polar_dB", lambda r: r["shellac"])), 1, 0.6, "dB")
    line("signs and channels right", 100 * sum(r["signs"] for r in heard) / len(heard), 100, 100, "%", "", True)
    line("peak memory, worst", upper([r["peak_MB"] for r in rows if r.get("peak_MB")], 100), 160, 80, "MB")
    kinds, classes = pooled("kinds"), pooled("classes")
    if kinds:
        print(f"  kind agrees {100 * sum(a == b for a, b in kinds) / len(kinds):.0f} %, audibility agrees "
              f"{100 * sum(a == b for a, b in classes) / len(classes):.0f} % of {len(kinds)} found")
        for kind in sorted({k for k, _ in kinds}):
            told = [b for a, b in kinds if a == kind]
            print(f"    {kind:8s} {len(told):4d}  told " + ", ".join(f"{n} {told.count(n)}" for n in sorted(set(told))))


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("folders", nargs="+")
    parser.add_argument("--goodside", required=True)
    parser.add_argument("--reports")
    parser.add_argument("--again", action="store_true")
    parser.add_argument("--detail", action="store_true", help="each missed and each false one")
    given = parser.parse_args()
    keep = pathlib.Path(given.reports or tempfile.mkdtemp())
    keep.mkdir(parents=True, exist_ok=True)
    cases = []
    for folder in map(pathlib.Path, given.folders):
        cases += [folder] if (folder / "truth.json").exists() else sorted(p.parent for p in folder.glob("*/truth.json"))
    rows, broken = [], 0
    for folder in cases:
        truth = json.loads((folder / "truth.json").read_text())
        target = keep / f"{folder.name}.json"
        seconds = peak_MB = None
        if given.again or not target.exists():
            report, seconds, peak_MB, message = hear(given.goodside, folder, truth, target)
        else:
            report, message = json.loads(target.read_text()), ""
        if report is None:
            broken += 1
            print(f"{folder.name} {truth['title'][:44]:44s} {message}", flush=True)
            if truth["found"]:
                continue
            report = {}  # refused with a line on stderr: nothing was invented
        row = score_case(report, truth)
        row.update(shellac=truth["player"]["rpm"] > 70, peak_MB=peak_MB)
        rows.append(row)
        print_case(folder.name, truth["title"], row, seconds, peak_MB)
        if given.detail and "plain" in row:
            for f in row["missed"]:
                print(f"      missed {f['audibility']:6s} {f['kind']:8s} {f['capture_s']:9.4f} s {f['channel']:5s} {f['plane']:8s} "
                      f"{f['shape'] or '':8s} {f['over_surface_dB']:+6.1f} dB over surface {f['re_programme_dB']:+6.1f} re programme")
            for f in row["false"]:
                print(f"      false  {f.get('audibility')} {f['kind']:8s} {f['capture_s']:9.4f} s {f.get('channel')} excess "
                      f"{shown(f.get('excess_dB'))} dB length {shown(f.get('duration_s'), '{:.4f}')} s")
        sys.stdout.flush()
    if broken:
        print(f"\n{broken} cases gave no report")
    print_summary(rows)


if __name__ == "__main__":
    main()
