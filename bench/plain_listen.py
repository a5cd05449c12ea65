#!/usr/bin/python3
"""The listening bench's measures as a straightforward NumPy/SciPy script: the peer that speed is compared with.

    plain_listen.py CAPTURE --reference REF --rpm N --outer-radius-mm Q --pitch-um Q [--json FILE]

features and offset -> delay track (phase-weighted correlation, then linearised maximum likelihood) -> smoothing -> warp
-> block 2x2 filter -> residual -> whitening -> multi-scale detection -> eccentricity, speed, levels, polar noise. It
holds the whole side in memory, makes no attempt at skips, echo or a wrong title beyond a score, and corrects no arm.
Vectorised as one would write it; neither slowed nor tuned. Times in seconds, everything else as the report names it.
"""
import argparse
import json

import numpy as np
import soundfile
from scipy import interpolate, linalg, ndimage, signal, sparse, stats
from scipy.sparse.linalg import spsolve

TRACK_RATE = 24000
HOP_S = 0.02


def load(path):
    data, rate = soundfile.read(path, always_2d=True, dtype="float32")
    return (np.repeat(data, 2, axis=1) if data.shape[1] == 1 else data[:, :2]), rate


def features(mono, rate):
    """Twelve log bands at 100 Hz, their slow mean removed."""
    hop = rate // 100
    f, _, s = signal.stft(mono, rate, nperseg=2 * hop, noverlap=hop, boundary=None)
    edges = np.geomspace(200, 8000, 13)
    power = np.abs(s) ** 2
    bands = np.stack([power[(f >= a) & (f < b)].sum(axis=0) for a, b in zip(edges[:-1], edges[1:])])
    level = np.log(bands + 1e-9)
    return level - ndimage.uniform_filter1d(level, 100, axis=1)


def place(capture, reference):
    """Offset (s) of the reference's start in the capture, and the features' correlation there."""
    a, b = features(capture, TRACK_RATE), features(reference, TRACK_RATE)
    score = sum(signal.correlate(x, y, mode="full", method="fft") for x, y in zip(a, b))
    lag = int(np.argmax(score)) - (b.shape[1] - 1)
    lo, hi = max(0, lag), min(a.shape[1], lag + b.shape[1])
    x, y = a[:, lo:hi], b[:, lo - lag : hi - lag]
    return lag / 100, float(np.sum(x * y) / np.sqrt(np.sum(x * x) * np.sum(y * y)))


def read_at(x, index):
    """Cubic interpolation at fractional indices, channel by channel."""
    return np.stack([ndimage.map_coordinates(x[:, c], [index], order=3, mode="constant") for c in range(x.shape[1])], axis=1)


def frames_of(x, centres, size):
    index = centres[:, None] + np.arange(-size // 2, size // 2)[None, :]
    return x[np.clip(index, 0, len(x) - 1)] * signal.get_window("hann", size)


def smooth(values, weights, stiffness):
    """Penalised spline: second differences against weighted data, Huber in microseconds."""
    n = len(values)
    d = sparse.diags([1, -2, 1], [0, 1, 2], shape=(n - 2, n))
    penalty = stiffness * (d.T @ d)
    out, w = values, weights.copy()
    for _ in range(4):
        out = spsolve((sparse.diags(w) + penalty).tocsc(), w * values)
        miss = np.abs(values - out)
        w = weights * np.minimum(1, 5 * (np.median(miss) + 1e-9) / np.maximum(miss, 1e-12))
    return out


def coarse_line(capture, reference, offset_s):
    """Speed and offset from 5.5-s windows, each correlated within 0.7 s: programme = slope time + constant."""
    size = 1 << 17
    starts = np.arange(max(0, int(offset_s * TRACK_RATE)), len(capture) - size, size // 2)
    at, late = [], []
    for n in starts:
        m = n - int(round(offset_s * TRACK_RATE))
        if m < 0 or m + size > len(reference):
            continue
        cross = np.fft.rfft(capture[n : n + size]) * np.conj(np.fft.rfft(reference[m : m + size]))
        peak = np.fft.irfft(cross / np.maximum(np.abs(cross), 1e-12) ** 0.7)
        reach = int(0.7 * TRACK_RATE)
        at.append((n + size / 2) / TRACK_RATE)
        late.append((np.argmax(np.concatenate([peak[-reach:], peak[: reach + 1]])) - reach) / TRACK_RATE)
    if len(at) < 2:
        return 1.0, -offset_s
    slope, constant, _, _ = stats.theilslopes(late, at)
    return 1.0 - slope, -offset_s - constant


def delay_track(capture, reference, offset_s):
    """Programme time at capture times every 20 ms."""
    start = max(0.0, offset_s) + 0.2
    stop = min(len(capture) / TRACK_RATE, offset_s + len(reference) / TRACK_RATE) - 0.2
    time_s = np.arange(start, stop, HOP_S)
    slope, constant = coarse_line(capture, reference, offset_s)
    track = slope * time_s + constant
    centres = np.round(time_s * TRACK_RATE).astype(int)
    clock = np.arange(len(capture)) / TRACK_RATE

    def warped():
        course = interpolate.CubicSpline(time_s, track)
        inside = np.clip(course(np.clip(clock, time_s[0], time_s[-1])) + (clock - np.clip(clock, time_s[0], time_s[-1])), 0, None)
        return ndimage.map_coordinates(reference, [inside * TRACK_RATE], order=3, mode="constant")

    for size, limit_s, stiffness in ((6144, 0.03, 3e3), (4096, 0.006, 1e3), (2048, 0.002, 300)):
        fit = warped()
        cross = np.fft.rfft(frames_of(capture, centres, size)) * np.conj(np.fft.rfft(frames_of(fit, centres, size)))
        f = np.fft.rfftfreq(size, 1 / TRACK_RATE)
        cross *= ((f > 150) & (f < 9000)) / np.maximum(np.abs(cross), 1e-12) ** 0.7
        peak = np.fft.irfft(cross, 4 * size)
        reach = int(limit_s * TRACK_RATE * 4)
        window = np.concatenate([peak[:, -reach:], peak[:, : reach + 1]], axis=1)
        k = np.clip(np.argmax(window, axis=1), 1, 2 * reach - 1)
        rows = np.arange(len(k))
        a, b, c = window[rows, k - 1], window[rows, k], window[rows, k + 1]
        fine = k + 0.5 * (a - c) / np.minimum(a - 2 * b + c, -1e-12)
        weight = np.sqrt(np.maximum(b, 0) / (np.median(np.maximum(b, 0)) + 1e-12))
        track = track - smooth((fine - reach) / (4 * TRACK_RATE), weight, stiffness)
    for _ in range(2):  # linearised maximum likelihood against the prediction
        fit = warped()
        size = 1024
        y, x = np.fft.rfft(frames_of(fit, centres, size)), np.fft.rfft(frames_of(capture, centres, size))
        gain = np.sum(x * np.conj(y), axis=0) / (np.sum(np.abs(y) ** 2, axis=0) + 1e-12)
        y = y * gain
        w = 2 * np.pi * np.fft.rfftfreq(size, 1 / TRACK_RATE)
        noise = np.median(np.abs(x - y) ** 2, axis=0) + 1e-3 * np.abs(y) ** 2 + 1e-12
        information = np.sum(w**2 * np.abs(y) ** 2 / noise, axis=1)
        late = -np.sum(w * np.imag(np.conj(y) * x) / noise, axis=1) / (information + 1e-9)
        weight = np.sqrt(information / (np.median(information) + 1e-12))
        track = track - smooth(np.clip(late, -2e-4, 2e-4), weight, 30)
    return time_s, track


def predict(capture, programme, rate):
    """2x2 block least squares over 4 s with half overlap, robust frame weights, truncated taps."""
    size = 8192 if rate > 64000 else 4096
    hop = size // 2
    window = np.sqrt(signal.get_window("hann", size))
    _, _, x = signal.stft(capture.T, rate, window=window, nperseg=size, noverlap=hop)
    _, _, y = signal.stft(programme.T, rate, window=window, nperseg=size, noverlap=hop)
    out = np.zeros_like(capture)
    block, step = int(4 * rate / hop), int(2 * rate / hop)
    weight = np.ones(x.shape[2])
    for first in range(0, x.shape[2], step):
        part = slice(max(0, first - step // 2), min(x.shape[2], first - step // 2 + block))
        a, b = y[:, :, part], x[:, :, part]
        for _ in range(2):
            w = weight[part]
            gram = np.einsum("ift,jft,t->fij", a, np.conj(a), w)
            cross = np.einsum("ift,jft,t->fij", b, np.conj(a), w)
            gram = ndimage.uniform_filter1d(gram, 5, axis=0)
            cross = ndimage.uniform_filter1d(cross, 5, axis=0)
            ridge = 1e-6 * np.trace(gram, axis1=1, axis2=2).real.mean() + 1e-12
            h = np.linalg.solve((gram + ridge * np.eye(2)).transpose(0, 2, 1), cross.transpose(0, 2, 1)).transpose(0, 2, 1)
            miss = np.sum(np.abs(b - np.einsum("fij,jft->ift", h, a)) ** 2, axis=(0, 1))
            weight[part] = 1 / (1 + miss / (np.median(miss) + 1e-20))
        taps = np.fft.irfft(h, axis=0)
        taps[size // 4 : -size // 4] = 0
        taps = np.roll(taps, size // 4, axis=0)[: size // 2]
        n0, n1 = first * hop, min(len(capture), (first + step) * hop)
        if n1 <= n0:
            break
        lo, hi = max(0, n0 - size), min(len(capture), n1 + size)
        for i in (0, 1):
            for j in (0, 1):
                full = signal.oaconvolve(programme[lo:hi, j], taps[:, i, j])[size // 4 :][: hi - lo]
                out[n0:n1, i] += full[n0 - lo : n1 - lo]
    return out


def whitener(residual, rate):
    """Order-32 prediction-error filter of the median spectrum."""
    _, _, s = signal.stft(residual, rate, nperseg=4096)
    power = np.median(np.abs(s) ** 2, axis=1) + 1e-16
    r = np.fft.irfft(power)[:33]
    return np.concatenate([[1.0], -linalg.solve_toeplitz(r[:32], r[1:33])])


def detect(residual, prediction, rate):
    """Events whose energy stands out at any of five scales, as (first, last sample, ratio)."""
    ratio = np.zeros(len(residual))
    for c in (0, 1):
        taps = whitener(residual[:, c], rate)
        u, v = (signal.lfilter(taps, 1, x[:, c]) for x in (residual, prediction))
        local = ndimage.uniform_filter1d(v * v, int(0.0015 * rate))
        step = int(0.0015 * rate)
        level = np.log(np.maximum(local[::step], 1e-18))
        edges = np.quantile(level, np.linspace(0, 1, 29))
        which = np.clip(np.searchsorted(edges, level) - 1, 0, 27)
        power = ndimage.uniform_filter1d(u * u, step)[::step]
        floor = np.maximum.accumulate([np.median(power[which == k]) if np.any(which == k) else 0.0 for k in range(28)])
        floor = np.repeat(floor[which], step)[: len(u)]
        floor = np.pad(floor, (0, len(u) - len(floor)), mode="edge") + 1e-18
        e = u * u / floor
        for width in (0.05e-3, 0.25e-3, 1.2e-3, 6e-3, 30e-3):
            n = max(2, int(width * rate))
            mean = ndimage.uniform_filter1d(e, n)
            coarse = np.median(mean[:: n // 2 + 1])
            limit = 1 + 6 * np.sqrt(2 / n) + 40 / n
            ratio = np.maximum(ratio, mean / max(coarse, 1e-9) / limit)
    hot = np.flatnonzero(ratio > 1)
    if not hot.size:
        return []
    groups = np.split(hot, np.flatnonzero(np.diff(hot) > 0.005 * rate) + 1)
    return [(g[0], g[-1], float(ratio[g[0] : g[-1] + 1].max())) for g in groups]


def audible(events, residual, prediction, rate):
    """Keeps what is 3 dB over the noise and -30 dB of the programme over 5 ms above 1 kHz."""
    sos = signal.butter(4, 1000, "highpass", fs=rate, output="sos")
    r, p = (np.mean(signal.sosfilt(sos, x, axis=0) ** 2, axis=1) for x in (residual, prediction))
    n = int(0.005 * rate)
    r, p = ndimage.uniform_filter1d(r, n), ndimage.uniform_filter1d(p, n)
    noise = np.repeat(ndimage.median_filter(r[::n], 200), n)
    noise = np.pad(noise, (0, max(0, len(r) - len(noise))), mode="edge")
    out = []
    for a, b, ratio in events:
        k = a + int(np.argmax(r[a : b + 1]))
        over = 10 * np.log10(max(r[k] / (noise[k] + 1e-18) - 1, 1e-9))
        against = 10 * np.log10(r[k] / (p[k] + 1e-18) + 1e-12)
        if over >= 3 and against >= -30:
            peak = a + int(np.argmax(np.max(np.abs(residual[a : b + 1]), axis=1)))
            grade = "plain" if over >= 10 and against >= -15 else "slight"
            out.append({"kind": "burst" if b - a > 0.012 * rate else "tick", "capture_s": peak / rate,
                        "duration_s": (b - a) / rate, "excess_dB": over, "audibility": grade})
    return out


def eccentricity(time_s, track, given):
    """Least squares of cos and sin of the groove angle over 1/r, beside a piecewise-linear drift."""
    turn = 60 / given.rpm
    rate = np.gradient(track, time_s) - 1
    theta = 2 * np.pi * track / turn
    radius = given.outer_radius_mm * 1e-3 - given.pitch_um * 1e-6 * track / turn
    knots = np.arange(time_s[0], time_s[-1], 3 * turn)
    hats = np.maximum(0, 1 - np.abs(time_s[:, None] - knots[None, :]) / (3 * turn))
    a = np.column_stack([np.cos(theta) / radius, np.sin(theta) / radius, hats])
    c, s = np.linalg.lstsq(a, rate, rcond=None)[0][:2]
    return float(np.hypot(c, s)), float(np.degrees(np.arctan2(s, c)) % 360)


def third_octaves(capture, programme, rate):
    f, p = signal.welch(capture, rate, nperseg=rate // 4, axis=0)
    _, q = signal.welch(programme, rate, nperseg=rate // 4, axis=0)
    rows = []
    for k in range(-9, 13):
        centre = 1000 * 2 ** (k / 3)
        band = (f >= centre * 2 ** (-1 / 6)) & (f < centre * 2 ** (1 / 6))
        if np.any(band):
            rows.append([centre, *(10 * np.log10((p[band].sum(axis=0) + 1e-20) / (q[band].sum(axis=0) + 1e-20)))])
    return [{"centre_Hz": c, "left_dB": float(a), "right_dB": float(b)} for c, a, b in rows]


def polar(residual, rate, time_s, track, given):
    """Median residual level above 1 kHz over 4 turns by 15 degrees, where the programme does not reach it is not asked."""
    sos = signal.butter(4, 1000, "highpass", fs=rate, output="sos")
    power = ndimage.uniform_filter1d(np.mean(signal.sosfilt(sos, residual, axis=0) ** 2, axis=1), rate // 100)[:: rate // 100]
    turns = np.interp(np.arange(len(power)) / 100, time_s, track) * given.rpm / 60
    line, column = (turns / 4).astype(int), ((turns % 1) * 24).astype(int)
    cells = np.full((line.max() + 1, 24), np.nan)
    order = np.argsort(line * 24 + column, kind="stable")
    keys, first = np.unique((line * 24 + column)[order], return_index=True)
    for key, part in zip(keys, np.split(power[order], first[1:])):
        cells[key // 24, key % 24] = 10 * np.log10(np.median(part) + 1e-18)
    return {"revolutions_per_row": 4, "columns": 24, "rows": len(cells),
            "dB": [[None if np.isnan(v) else float(v) for v in row] for row in cells]}


def listen(given):
    capture, rate = load(given.capture)
    reference, reference_rate = load(given.reference)

    def to_track_rate(x, own):
        common = np.gcd(own, TRACK_RATE)
        return signal.resample_poly(x.mean(axis=1).astype(float), TRACK_RATE // common, own // common)

    slow_capture, slow_reference = to_track_rate(capture, rate), to_track_rate(reference, reference_rate)
    offset_s, score = place(slow_capture, slow_reference)
    if score < 0.25:
        return {"alignment": {"found": False, "confidence": score}, "faults": []}
    time_s, track = delay_track(slow_capture, slow_reference, offset_s)
    n0, n1 = int(time_s[0] * rate), int(time_s[-1] * rate)
    course = interpolate.CubicSpline(time_s, track)
    programme = read_at(reference, course(np.arange(n0, n1) / rate) * reference_rate)
    heard = capture[n0:n1].astype(float)
    prediction = predict(heard, programme.astype(float), rate)
    residual = heard - prediction
    faults = audible(detect(residual, prediction, rate), residual, prediction, rate)
    for fault in faults:
        fault["capture_s"] += n0 / rate
        fault["programme_s"] = float(course(fault["capture_s"]))
    e, direction = eccentricity(time_s, track, given)
    return {
        "alignment": {"found": True, "programme_start_s": float(time_s[0] - track[0]), "confidence": score,
                      "speed_error_ppm": float(1e6 * ((track[-1] - track[0]) / (time_s[-1] - time_s[0]) - 1))},
        "wow": {"eccentricity_m": e, "eccentricity_direction_deg": direction,
                "curve": {"time_s": time_s.tolist(), "deviation": (np.gradient(track, time_s) - 1).tolist()}},
        "levels": {"third_octave": third_octaves(heard, programme, rate)},
        "faults": faults,
        "noise": {"polar": polar(residual, rate, time_s - n0 / rate, track, given)},
    }


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("capture")
    parser.add_argument("--reference", required=True)
    parser.add_argument("--rpm", type=float, required=True)
    parser.add_argument("--outer-radius-mm", type=float, required=True)
    parser.add_argument("--pitch-um", type=float, required=True)
    parser.add_argument("--json")
    given = parser.parse_args()
    report = listen(given)
    if given.json:
        with open(given.json, "w") as file:
            json.dump(report, file)
    kinds = [f["audibility"] for f in report["faults"]]
    print(f"found {report['alignment']['found']}, plain {kinds.count('plain')}, slight {kinds.count('slight')}, eccentricity "
          f"{1e6 * report.get('wow', {}).get('eccentricity_m', 0):.1f} um")


if __name__ == "__main__":
    main()
