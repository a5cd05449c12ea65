#!/usr/bin/python3
"""A second played record, independent of src/disc: judges the listening bench on sides it was not built on.

    second_player.py PROGRAMME --out FOLDER [--player FILE.json] [--noise RECORDING]

writes capture.wav, reference.wav and truth.json. PROGRAMME is anything libsndfile or ffmpeg reads.
FILE.json overrides any field of `Player` (see its comments).

Physics
  groove     r(phi) = R0 - pitch phi/2pi about the groove's centre G; phi = 2pi (rpm/60) programme_s.
  seating    G lies e from the hole, at the groove angle `direction_deg` (from hole to G).
  tracker    the stylus meets the groove at Q(phi) = e exp(i dir) + r exp(i phi), seen from the hole; the platter has
             then turned by A = arg Q (linear tracker), or A = arg Q + beta(|Q|) with a pivoted arm,
             cos beta = (s^2 + d^2 - L^2)/(2 s d). This is exact; A(phi) = platter angle(t) gives the time. To first
             order d(programme)/d(capture) = 1 + (e/r) cos(theta - dir) for the linear tracker.
  tracing    a circle of radius R rolling on a wall of slope v/V touches it R sin(alpha) ahead of its centre, and its
             centre has the slope of the wall there: v_out(t) = v(t + (R/V) sin(alpha)), exact until the circle can
             no longer reach the bottom. Its first term is the usual (R/2) d/dt (v/V)^2. Opposite signs on two walls.
  cartridge  second-order resonance, tilt in dB/octave about 1 kHz, first-order all-pass, crosstalk rising with
             frequency, playback equalisation with time constants a few per cent off.
The capture is programme + surface + faults, three streams known apart, so every fault's audibility is exact:
energies over >= 5 ms above 1 kHz; plain >= 10 dB over the surface and >= -15 dB re programme, slight >= 3 and >= -30.
Accuracy of the interpolation: better than -90 dB to 18 kHz. Needs NumPy, SciPy, soundfile.
"""
import argparse
import dataclasses
import io
import json
import pathlib
import subprocess

import numpy as np
import soundfile
from scipy import fft, interpolate, ndimage, signal

GRID_S = 2e-3  # of programme and of platter time; the fastest wander is 10 Hz
RIAA_S = (3180e-6, 318e-6, 75e-6)


@dataclasses.dataclass
class Player:
    """All that a played side needs; SI units, dB, ppm and degrees excepted."""

    seed: int = 1
    # cut
    rpm: float = 100 / 3
    outer_radius_m: float = 0.146
    pitch_m: float = 110e-6
    full_scale_m_s: float = 0.08  # groove velocity of digital full scale at 1 kHz
    stylus_radius_m: float = 15e-6  # 0: no tracing distortion
    mono: bool = False
    echo_lag_dB: float | None = None  # heard one turn after its programme
    echo_lead_dB: float | None = None
    cut_shelf_dB: float = 0.0  # the cut was mastered differently from the reference: high shelf at 6 kHz
    cut_limit: float = 0.0  # and softly limited above this share of full scale; 0: not
    # seating and drive
    eccentricity_m: float = 0.0
    direction_deg: float = 0.0
    arm_length_m: float = 0.0  # 0: linear tracker
    arm_mount_m: float = 0.0
    speed_error_ppm: float = 0.0
    wander_rms: float = 2e-4  # random, below 4 Hz
    lines: tuple = ()  # (Hz, peak deviation)
    warp_m: float = 0.0  # twice a turn, with its fourth
    # cartridge and chain
    resonance_Hz: float = 19e3
    resonance_q: float = 1.2
    tilt_dB_octave: float = 0.0
    all_pass_Hz: float = 0.0
    crosstalk_dB: tuple = (-28.0, -18.0)  # at 1 kHz, at 15 kHz
    gain_dB: float = -6.0
    balance_dB: float = 0.0
    equalisation_error: tuple = (0.0, 0.0, 0.0)
    hum_dB: float = -200.0  # of full scale
    hum_Hz: float = 50.0
    rumble_dB: float = -200.0
    polarity: int = 1
    swap: bool = False
    # surface
    hiss_dB: float = -62.0  # rms above 1 kHz, of full scale of the capture
    hiss_slope_dB_octave: float = -3.0
    hiss_polar_dB: float = 0.0  # depth of the noise's own map over the disc
    noise_dB: float | None = None  # rms of the real record noise passed along
    crackle_per_s: float = 0.0
    crackle_dB: float = -40.0  # its median peak
    crackle_tail: float = 1.6  # Pareto exponent; smaller is heavier
    # faults: dicts, see `Faults`
    faults: tuple = ()
    jumps: tuple = ()  # (programme_s, turns): + skips, - repeats, in the order played
    # capture
    rate_Hz: int = 96000
    lead_in_s: float = 1.5
    run_out_s: float = 1.5
    excerpt_s: tuple = ()  # (from, to) of the capture
    clip: float = 0.0  # 0: none, else clipped at this share of the peak
    needle: bool = True  # set-down thump


def read_audio(path):
    """Samples (frames, channels) in [-1, 1], and rate."""
    try:
        return soundfile.read(path, always_2d=True)
    except soundfile.LibsndfileError:
        command = ["ffmpeg", "-v", "error", "-i", str(path), "-f", "wav", "-c:a", "pcm_f32le", "-"]
        raw = subprocess.run(command, check=True, capture_output=True).stdout
        return soundfile.read(io.BytesIO(raw), always_2d=True)


def filter_whole(x, rate, response):
    """Applies response(f_Hz) to axis 0, zero-padded by half a second against wrap-around."""
    n = x.shape[0]
    size = fft.next_fast_len(n + rate // 2, real=True)
    h = response(fft.rfftfreq(size, 1 / rate))
    h = h[:, None] if x.ndim == 2 else h
    return fft.irfft(fft.rfft(x, size, axis=0) * h, size, axis=0)[:n]


def equalisation(f, times_s=RIAA_S):
    """Playback equalisation, 0 dB at 1 kHz."""
    t1, t2, t3 = times_s

    def h(s):
        return (1 + s * t2) / ((1 + s * t1) * (1 + s * t3))

    return h(2j * np.pi * f) / abs(h(2j * np.pi * 1000.0))


def high_pass(x, rate, corner_Hz=1000.0):
    sos = signal.butter(4, corner_Hz, "highpass", fs=rate, output="sos")
    return signal.sosfiltfilt(sos, x, axis=0)


# ---- kinematics -------------------------------------------------------------------------------------------------


def stylus_angle(programme_s, player):
    """Platter angle at which the stylus is at `programme_s`, radians; the exact geometry of the head comment."""
    phi = 2 * np.pi * player.rpm / 60 * programme_s
    radius = player.outer_radius_m - player.pitch_m * phi / (2 * np.pi)
    offset = player.eccentricity_m * np.exp(1j * np.radians(player.direction_deg))
    seen = offset * np.exp(-1j * phi) + radius  # relative to phi: no unwrapping needed
    angle = phi + np.angle(seen)
    if player.arm_length_m > 0:
        s, d = np.abs(seen), player.arm_mount_m
        angle = angle + np.arccos((s * s + d * d - player.arm_length_m**2) / (2 * s * d))
    return angle, radius


class Course:
    """Programme time against capture time, one cubic spline a stretch between jumps."""

    def __init__(self, player, length_s, rng):
        omega = 2 * np.pi * player.rpm / 60
        first, last = -player.lead_in_s, length_s + player.run_out_s
        back = sum(abs(n) for _, n in player.jumps) * 60 / player.rpm
        time = np.arange(-1.0, (last - first + back) * 1.02 + 3, GRID_S)
        deviation = self.drive(player, time, rng)
        turned = np.concatenate([[0.0], np.cumsum((deviation[1:] + deviation[:-1]) / 2 + 1.0)]) * GRID_S * omega
        start = stylus_angle(np.array([first]), player)[0][0] - np.interp(0.0, time, turned)
        time_at = interpolate.CubicSpline(turned + start, time)

        self.stretches = []  # (capture from, to, programme of capture, capture of programme)
        self.seams = []
        turns, begin = 0, first
        warp_phase = rng.uniform(0, 2 * np.pi)
        for stop, jump in [*player.jumps, (last, None)]:
            programme = np.arange(begin - 0.2, stop + 0.2, GRID_S)
            angle, radius = stylus_angle(programme, player)
            angle = angle - 2 * np.pi * turns
            shift = 0.0
            if player.warp_m > 0:  # a stylus 20 mm under the pivot of a 230-mm arm is drawn along by z H/L
                lift = np.sin(2 * angle + warp_phase) + 0.25 * np.sin(4 * angle + 2 * warp_phase)
                shift = player.warp_m * lift * 20 / 230 / (omega * radius)
            time_s = time_at(angle)
            onward = interpolate.CubicSpline(time_s, programme + shift)
            backward = interpolate.CubicSpline(programme + shift, time_s)
            from_s = self.stretches[-1][1] if self.stretches else float(backward(begin))
            to_s = float(backward(stop))
            self.stretches.append((from_s, to_s, onward, backward))
            if jump is not None:
                turns += jump
                target = float(np.interp(stop, programme, angle)) + 2 * np.pi * turns
                probe = stop + jump * 60 / player.rpm + np.linspace(-0.01, 0.01, 2001)
                begin = float(np.interp(target, stylus_angle(probe, player)[0], probe))
                self.seams.append({"capture_s": to_s, "programme_s": stop, "turns": jump, "jump_s": begin - stop})
        self.end_s = self.stretches[-1][1]
        self.start_s, self.stop_s = self.time_of(0.0), self.time_of(length_s, last=True)
        played_s = length_s - sum(s["jump_s"] for s in self.seams)
        self.mean_rate = played_s / (self.stop_s - self.start_s) - 1

    @staticmethod
    def drive(player, time, rng):
        """Relative deviation of the platter's rate."""
        deviation = np.full(time.size, player.speed_error_ppm * 1e-6)
        if player.wander_rms > 0:
            sos = signal.butter(2, 4.0, fs=1 / GRID_S, output="sos")
            slow = signal.sosfilt(sos, rng.standard_normal(time.size))
            slow += 0.3 * ndimage.gaussian_filter1d(np.cumsum(rng.standard_normal(time.size)) / 40, 200)
            slow -= slow.mean()
            deviation += player.wander_rms * slow / slow.std()
        for hertz, peak in player.lines:
            deviation += peak * np.sin(2 * np.pi * hertz * time + rng.uniform(0, 2 * np.pi))
        return deviation

    def programme_of(self, time_s):
        time_s = np.atleast_1d(np.asarray(time_s, float))
        out = np.empty(time_s.size)
        which = np.searchsorted([s[1] for s in self.stretches[:-1]], time_s, side="right")
        for k, (_, _, onward, _) in enumerate(self.stretches):
            out[which == k] = onward(time_s[which == k])
        return out

    def time_of(self, programme_s, last=False):
        """Capture time of a programme time in the first (last) stretch that plays it, or None."""
        for from_s, to_s, onward, backward in reversed(self.stretches) if last else self.stretches:
            if float(onward(from_s)) - 1e-9 <= programme_s <= float(onward(to_s)) + 1e-9:
                return float(backward(programme_s))
        return None


# ---- the groove -------------------------------------------------------------------------------------------------


def cut_velocity(reference, rate, player):
    """Groove velocity over that of full scale, from the programme: mastering, echo, recording equalisation."""
    x = reference
    if player.mono:
        x = np.repeat(x.mean(axis=1, keepdims=True), 2, axis=1)
    if player.cut_shelf_dB:
        gain = 10 ** (player.cut_shelf_dB / 20)
        x = filter_whole(x, rate, lambda f: (1 + gain * 1j * f / 6e3) / (1 + 1j * f / 6e3))
    if player.cut_limit:
        x = player.cut_limit * np.tanh(x / player.cut_limit)
    turn = 60 / player.rpm
    dry = np.pad(x, ((0, int(2 * turn * rate)), (0, 0)))
    for level, sign in ((player.echo_lag_dB, 1), (player.echo_lead_dB, -1)):
        if level is not None:
            g = 10 ** (level / 20)
            x = x + filter_whole(
                dry, rate, lambda f: g / (1 + 1j * f / 9e3) * np.exp(-2j * np.pi * f * turn * sign))[: len(x)]
    return filter_whole(x, rate, lambda f: 1 / equalisation(f) / (1 + 1j * f / 60e3) ** 2)


def lagrange(x, position):
    """Six-point Lagrange interpolation of x at fractional indices."""
    k = np.clip(position.astype(np.int64), 2, x.size - 4)
    u = position - k
    um2, um1, u1, u2, u3 = u + 2, u + 1, u - 1, u - 2, u - 3
    out = x[k - 2] * (um1 * u * u1 * u2 * u3 / -120)
    out += x[k - 1] * (um2 * u * u1 * u2 * u3 / 24)
    out += x[k] * (um2 * um1 * u1 * u2 * u3 / -12)
    out += x[k + 1] * (um2 * um1 * u * u2 * u3 / 12)
    out += x[k + 2] * (um2 * um1 * u * u1 * u3 / -24)
    out += x[k + 3] * (um2 * um1 * u * u1 * u2 / 120)
    return out


def trace(velocity, rate, course, player, inner_rate, frames):
    """Stylus velocity on both walls at the capture's inner rate, over that of the cut's full scale."""
    up = max(2, -(-340000 // rate))
    kernel = signal.firwin(up * 96 + 1, 0.985 / up, window=("kaiser", 9.0))
    out = np.zeros((frames, 2))
    omega = 2 * np.pi * player.rpm / 60
    piece = int(6 * inner_rate)
    for a_s, b_s, onward, _ in course.stretches:
        first, last = max(0, int(np.ceil(a_s * inner_rate))), min(frames, int(np.ceil(b_s * inner_rate)))
        for n0 in range(first, last, piece):
            n1 = min(last, n0 + piece)
            time = np.arange(n0, n1) / inner_rate
            p, speed = onward(time), onward(time, 1)
            k0, k1 = int(p[0] * rate) - 400, int(p[-1] * rate) + 400
            if k1 <= 0 or k0 >= len(velocity):
                continue
            part = velocity[max(k0, 0) : max(k1, 0)]
            before = max(-k0, 0)
            part = np.pad(part, ((before, k1 - k0 - len(part) - before), (0, 0)))
            groove = omega * (player.outer_radius_m - player.pitch_m * p * player.rpm / 60)
            for wall, sign in ((0, -1.0), (1, 1.0)):
                fine = signal.resample_poly(part[:, wall], up, 1, window=kernel)
                at = (p * rate - k0) * up
                y = lagrange(fine, at)
                if player.stylus_radius_m > 0:
                    ahead = sign * player.stylus_radius_m / groove * rate * up
                    for _ in range(3):
                        slope = y * player.full_scale_m_s / groove
                        y = lagrange(fine, at + ahead * slope / np.sqrt(1 + slope * slope))
                out[n0:n1, wall] = y * speed
    return out


def chain(f, player):
    """Cartridge and amplifier without equalisation: resonance, tilt, all-pass."""
    s = 1j * f / player.resonance_Hz
    h = 1 / (1 + s / player.resonance_q + s * s)
    h = h * (np.maximum(f, 40.0) / 1000.0) ** (player.tilt_dB_octave / 6.0206)
    if player.all_pass_Hz > 0:
        h = h * (1 - 1j * f / player.all_pass_Hz) / (1 + 1j * f / player.all_pass_Hz)
    return h


def crosstalk(f, player):
    low, high = player.crosstalk_dB
    level = low + (high - low) * np.clip(np.log(np.maximum(f, 1) / 1000) / np.log(15.0), -1, 1.2)
    return 10 ** (level / 20) * np.exp(-1j * np.pi / 2 * np.clip(f / 12e3, 0, 1))


# ---- surface ----------------------------------------------------------------------------------------------------


def shaped_noise(frames, rate, slope_dB_octave, rng):
    """Two channels with the given slope above 300 Hz, unit rms above 1 kHz; partly common (lateral)."""
    x = rng.standard_normal((frames, 2))
    x[:, 1] = 0.4 * x[:, 0] + 0.92 * x[:, 1]
    x = filter_whole(x, rate, lambda f: np.maximum(f, 300.0) ** (slope_dB_octave / 6.0206) / (1 + 1j * f / 22e3) ** 2)
    return x / np.sqrt(np.mean(high_pass(x[: 20 * rate], rate) ** 2))


def real_noise(path, frames, rate, rng):
    """A played record's own noise, looped with 60-ms cross-fades at random entry points, unit rms."""
    data, own = read_audio(path)
    data = np.repeat(data, 2, axis=1) if data.shape[1] == 1 else data[:, :2]
    data = data[int(0.05 * own) : -int(0.05 * own)]  # a lossy coder's padding
    common = np.gcd(int(rate), int(own))
    data = signal.resample_poly(data, rate // common, own // common, axis=0)
    fade = int(0.06 * rate)
    ramp = np.sin(np.linspace(0, np.pi / 2, fade))[:, None]
    out = np.zeros((frames + len(data), 2))
    at = 0
    while at < frames:
        part = data[int(rng.uniform(0, 0.3) * len(data)) :].copy()
        part[-fade:] *= ramp[::-1]
        if at > 0:
            part[:fade] *= ramp
        out[at : at + len(part)] += part
        at += len(part) - fade
    out = out[:frames]
    return out / np.sqrt(np.mean(out**2))


def polar_gain_dB(programme_s, player, rng):
    """A smooth map over the disc: two lobes in angle that turn slowly with radius, and a ring."""
    turn = programme_s * player.rpm / 60
    a, b, c = rng.uniform(0, 2 * np.pi, 3)
    theta = 2 * np.pi * turn
    lobe = np.cos(theta - a - turn / 25) + 0.6 * np.cos(2 * theta - b + turn / 40)
    return player.hiss_polar_dB * 0.5 * (lobe + 0.7 * np.sin(turn / 12 + c))


def crackle(frames, rate, player, rng):
    """Poisson impulses with a Pareto tail of peaks: the compound's filler, on one wall or both."""
    out = np.zeros((frames, 2))
    count = rng.poisson(player.crackle_per_s * frames / rate)
    where = rng.integers(0, frames - 400, count)
    median = 10 ** (player.crackle_dB / 20)
    size = median * (rng.pareto(player.crackle_tail, count) + 1) / 2 ** (1 / player.crackle_tail)
    size = np.minimum(size, 20 * median) * rng.choice([-1.0, 1.0], count)
    pan, breadth = rng.integers(0, 3, count), rng.integers(0, 4, count)
    for k, width in enumerate((12e-6, 25e-6, 50e-6, 100e-6)):
        spikes = np.zeros((frames, 2))
        for c in (0, 1):
            use = (breadth == k) & ((pan == 2) | (pan == c))
            np.add.at(spikes[:, c], where[use], size[use])
        t = np.arange(int(14 * width * rate) + 8) / rate
        pulse = np.exp(-t / (2 * width)) * np.sin(2 * np.pi * (t + 0.5 / rate) / (7 * width))
        out += signal.oaconvolve(spikes, pulse[:, None] / np.max(np.abs(pulse)), mode="full", axes=0)[:frames]
    return out


# ---- faults -----------------------------------------------------------------------------------------------------


class Faults:
    """Lays faults on a stream of their own. A fault is a dict:

    {"kind", "at_s" programme (or "capture_s"), "level_dB" peak of full scale, "channel": left|right|both,
     "plane": lateral|vertical|mixed, "shape": gaussian|ring|step|skew, "hertz", "width_s", "length_s", "depth_dB"}
    kinds: tick, pop, burst (non-fill), dropout, and the spreads scratch {"turns", "angle_deg", "from_turn"},
    arc {"turns", "angle_deg", "span_deg", "from_turn"} and dirt {"count", "from_s", "to_s"}, which are laid as ticks
    (scratch, dirt) or one burst a turn (arc);
    nonfill {"turns", "from_turn", "angle_deg", "span_deg", "texture": hash|rips|grains|zipper, "ground_dB", "creep_deg",
    "lean"}: a patch of torn wall, noise through all of its sector and what the texture says standing out of it;
    specks {"turns", "from_turn", "angle_deg", "span_deg", "count", "clump"}: dirt over an area, in clumps of about `clump`.
    """

    def __init__(self, player, course, frames, rate, programme, rng):
        self.player, self.course, self.rate, self.rng = player, course, rate, rng
        self.programme = programme
        self.stream = np.zeros((frames, 2))  # what the stylus meets; the cartridge follows
        self.dips = np.zeros((frames, 2))  # what the programme loses, cartridge included
        self.laid = []
        for fault in player.faults:
            self.lay(fault)

    def lay(self, fault):
        kind, rng = fault["kind"], self.rng
        turn = 60 / self.player.rpm
        if kind in ("scratch", "arc"):
            for k in range(fault["turns"]):
                at = (fault["from_turn"] + k + fault["angle_deg"] / 360) * turn + rng.normal(0, 2e-4) * turn
                one = {"pattern": kind, "at_s": at, "level_dB": fault["level_dB"] + rng.normal(0, 2),
                       "channel": fault.get("channel", "both")}
                if kind == "scratch":
                    self.one(one | {"kind": "tick", "shape": str(rng.choice(["gaussian", "ring", "skew"]))})
                else:
                    length = fault["span_deg"] / 360 * turn * rng.uniform(0.8, 1.2)
                    self.one(one | {"kind": "burst", "length_s": length})
        elif kind == "dirt":
            for at in np.sort(rng.uniform(fault["from_s"], fault["to_s"], fault["count"])):
                self.one({"kind": "tick", "pattern": "dirt", "at_s": at, "level_dB": fault["level_dB"] + rng.normal(0, 4),
                          "channel": str(rng.choice(["left", "right", "both"])),
                          "shape": str(rng.choice(["gaussian", "ring", "step", "skew"]))})
        elif kind == "nonfill":
            self.nonfill(fault, turn)
        elif kind == "specks":
            self.specks(fault, turn)
        else:
            self.one(fault)

    def specks(self, fault, turn):
        """Neyman-Scott: clumps anywhere in the area, each of a Poisson number of specks within some 20 ms."""
        rng, left = self.rng, fault["count"]
        while left > 0:
            size = min(left, 1 + rng.poisson(fault["clump"] - 1))
            left -= size
            whole = fault["from_turn"] + rng.integers(fault["turns"])
            middle = (whole + (fault["angle_deg"] + fault["span_deg"] * rng.uniform(0, 1)) / 360) * turn
            for at in middle + np.sort(rng.normal(0, 0.012, size)) * (size > 1):
                self.one({"kind": "tick", "pattern": fault.get("pattern", "specks"), "at_s": float(at),
                          "level_dB": fault["level_dB"] + rng.normal(0, 4),
                          "channel": str(rng.choice(["left", "right", "both"])),
                          "shape": str(rng.choice(["gaussian", "ring", "step", "skew"]))})

    def nonfill(self, fault, turn):
        """One torn stretch a turn; now and then a turn where the compound reached the wall after all."""
        rng, span = self.rng, fault["span_deg"]
        for k in range(fault["turns"]):
            if rng.uniform() < 0.08:
                continue
            # Oval: the sector is widest in the middle turn of the patch.
            wide = span * max(0.35, np.sqrt(max(0.0, 1 - ((2 * k + 1) / fault["turns"] - 1) ** 2))) * rng.uniform(0.85, 1.1)
            start = fault["angle_deg"] + fault.get("creep_deg", 0.0) * k + 0.5 * (span - wide) + rng.normal(0, 0.02 * span)
            self.one({"kind": "burst", "pattern": fault.get("pattern", "nonfill"), "torn": fault,
                      "at_s": (fault["from_turn"] + k + start / 360) * turn, "length_s": wide / 360 * turn,
                      "level_dB": fault["level_dB"] + rng.normal(0, 1.5), "channel": fault.get("channel", "both")})

    def torn(self, length_s, patch):
        """Noise of a torn wall, peak 1: a ground all through, and rips, grains or a zipper out of it."""
        rate, rng = self.rate, self.rng
        n = int(length_s * rate)
        time = np.arange(n) / rate
        band = (rng.uniform(400, 1500), rng.uniform(7e3, 14e3))
        sos = signal.butter(2, band, "bandpass", fs=rate, output="sos")

        def hash_noise():
            x = signal.sosfilt(sos, rng.standard_normal(n + 2000))[2000:]
            return x / x.std()

        out = np.zeros(n)
        if patch["texture"] == "hash":
            slow = np.exp(0.5 * ndimage.gaussian_filter1d(rng.standard_normal(n), rate * 1.5e-3) * np.sqrt(rate * 5.3e-3))
            out = hash_noise() * np.minimum(slow, 4)
        elif patch["texture"] == "rips":
            envelope = np.zeros(n)
            for _ in range(1 + rng.poisson(length_s / 0.025)):
                at, rip = rng.uniform(0, length_s), rng.uniform(3e-3, 20e-3)
                inside = (time >= at) & (time < at + rip)
                envelope[inside] += rng.uniform(0.3, 1) * np.sin(np.pi * (time[inside] - at) / rip) ** 0.5
            out = hash_noise() * envelope
        else:
            if patch["texture"] == "grains":
                at = np.flatnonzero(rng.uniform(size=n) < rng.uniform(300, 1200) / rate)
            else:  # the stylus sticks and slips along the torn edge
                steps = rng.uniform(1 / 350, 1 / 120) * rng.normal(1, 0.2, 4 + int(length_s * 500)).clip(0.3)
                at = (np.cumsum(steps) * rate).astype(int)
            at = at[at < n]
            spikes = np.zeros(n)
            spikes[at] = rng.exponential(1, at.size) * rng.choice([-1.0, 1.0], at.size)
            out = signal.sosfilt(sos, spikes)
        out = out / max(np.max(np.abs(out)), 1e-9)
        ground = 10 ** (patch["ground_dB"] / 20) * hash_noise() / 3
        lean = 1 + patch.get("lean", 0.0) * (2 * time / max(length_s, 1e-9) - 1)
        edge = np.minimum(1, np.minimum(time, length_s - time) / (0.1 * length_s + 1e-3))
        w = (out + ground) * lean * edge
        return w / np.max(np.abs(w))

    def shape(self, fault):
        """The wave of a tick or a pop, peak 1."""
        rate, rng = self.rate, self.rng
        name = fault.get("shape", "gaussian")
        if fault["kind"] == "pop":
            decay = fault.get("width_s", rng.uniform(0.002, 0.008))
            t = np.arange(int(6 * decay * rate)) / rate
            w = np.sin(2 * np.pi * rng.uniform(90, 260) * t) * np.exp(-t / decay)
            w += 0.25 * np.exp(-t / 2e-4) * np.sin(2 * np.pi * 2500 * t)
        elif name == "gaussian":
            width = fault.get("width_s", rng.uniform(15e-6, 90e-6))
            t = np.arange(-int(6 * width * rate) - 2, int(6 * width * rate) + 3) / rate
            w = -t / width * np.exp(0.5 - t * t / (2 * width * width))
        elif name == "ring":
            hertz = fault.get("hertz", rng.uniform(2e3, 12e3))
            decay = fault.get("width_s", rng.uniform(0.1e-3, 0.7e-3))
            t = np.arange(int(8 * decay * rate) + 8) / rate
            w = np.sin(2 * np.pi * hertz * t) * np.exp(-t / decay)
        elif name == "step":  # one-sided, as a high-pass leaves it
            decay = fault.get("width_s", rng.uniform(0.08e-3, 0.5e-3))
            t = np.arange(int(8 * decay * rate) + 8) / rate
            w = np.exp(-t / decay) * (1 - np.exp(-t / 15e-6))
        else:  # skew: a fast rise, a slower fall with undershoot
            rise, fall = rng.uniform(15e-6, 40e-6), rng.uniform(0.1e-3, 0.4e-3)
            t = np.arange(int(8 * fall * rate) + 8) / rate
            w = (np.exp(-t / fall) - np.exp(-t / rise)) * np.cos(2 * np.pi * 0.35 / fall * t)
        return w / np.max(np.abs(w))

    def burst(self, fault):
        """Rough band-limited noise that swells and dies, peak 1."""
        rate, rng = self.rate, self.rng
        n = int(fault["length_s"] * rate)
        band = (rng.uniform(250, 900), rng.uniform(4e3, 11e3))
        sos = signal.butter(2, band, "bandpass", fs=rate, output="sos")
        rough = np.abs(ndimage.gaussian_filter1d(rng.standard_normal(n), rate * rng.uniform(0.4e-3, 2e-3)))
        swell = np.sin(np.pi * (np.arange(n) + 0.5) / n) ** rng.uniform(0.3, 1.5)
        w = signal.sosfilt(sos, rng.standard_normal(n)) * (0.3 * rough.mean() + rough) * swell
        return w / np.max(np.abs(w))

    def one(self, fault):
        rate, rng, kind = self.rate, self.rng, fault["kind"]
        at = fault["capture_s"] if "capture_s" in fault else self.course.time_of(fault["at_s"])
        if at is None:
            return
        n0 = int(round(at * rate))
        channel, plane = fault.get("channel", "both"), fault.get("plane", "mixed")
        pan = {"left": (1.0, 0.0), "right": (0.0, 1.0), "both": (1.0, rng.uniform(0.5, 0.95))}[channel]
        if channel == "both" and plane != "mixed":
            pan = (1.0, 1.0) if plane == "lateral" else (1.0, -1.0)
        pan = np.array(pan) * rng.choice([-1.0, 1.0])
        if kind == "dropout":
            n = int(fault["length_s"] * rate)
            edge = min(n // 3, int(0.004 * rate))
            dip = np.ones(n)
            dip[:edge] = 0.5 - 0.5 * np.cos(np.linspace(0, np.pi, edge))
            dip[n - edge :] = dip[:edge][::-1]
            part = self.programme[n0 : n0 + n]
            wave = (10 ** (-abs(fault["depth_dB"]) / 20) - 1) * dip[: len(part), None] * part * (pan != 0)
        else:
            if "torn" in fault:
                wave = self.torn(fault["length_s"], fault["torn"])
            else:
                wave = self.burst(fault) if kind == "burst" else self.shape(fault)
            wave = wave[:, None] * pan
            wave *= 10 ** (fault["level_dB"] / 20)
        n1 = min(n0 + len(wave), len(self.stream))
        if n0 < 0 or n1 <= n0:
            return
        (self.dips if kind == "dropout" else self.stream)[n0:n1] += wave[: n1 - n0]
        self.laid.append({"kind": kind, "onset_s": n0 / rate, "end_s": n1 / rate, "channel": channel, "plane": plane,
                          "pattern": fault.get("pattern"), "shape": fault.get("shape")})


def moving_energy(power, window):
    return ndimage.uniform_filter1d(power, max(1, int(window)), mode="constant")


def judge_audibility(over_surface_dB, re_programme_dB):
    if over_surface_dB >= 10 and re_programme_dB >= -15:
        return "plain"
    if over_surface_dB >= 3 and re_programme_dB >= -30:
        return "slight"
    return "masked"


def to_dB(ratio):
    return float(10 * np.log10(max(ratio, 1e-30)))


def assess(laid, faults, surface, programme, rate):
    """Peak, energies and class of each laid fault, into `laid`; powers above 1 kHz of surface and programme."""
    f2, n2, p2 = (np.mean(high_pass(x, rate) ** 2, axis=1) for x in (faults, surface, programme))
    block = int(0.005 * rate)
    blocks = moving_energy(n2, block)[::block]
    for fault in laid:
        a, b = int(fault["onset_s"] * rate), int(fault["end_s"] * rate) + 1
        peak = a + int(np.argmax(np.max(np.abs(faults[a:b]), axis=1)))
        if fault["kind"] in ("burst", "dropout"):
            lo, hi = a, max(b, a + block)
        else:
            lo, hi = peak - block // 2, peak + block - block // 2
        lo, hi = max(lo, 0), min(hi, len(f2))
        here = blocks[max(0, lo // block - 200) : hi // block + 200]
        surface_power = np.mean(np.minimum(here, np.percentile(here, 95)))
        over = to_dB(f2[lo:hi].mean() / max(surface_power, 1e-20))
        re_programme = to_dB(f2[lo:hi].mean() / max(p2[lo:hi].mean(), 1e-20))
        fault.update(capture_s=peak / rate, over_surface_dB=over, re_programme_dB=re_programme,
                     audibility=judge_audibility(over, re_programme))
    return n2, p2


def own_clicks(n2, p2, rate):
    """Where the surface alone stands 3 dB out of its own second: neither required nor false."""
    block = int(0.005 * rate)
    energy = moving_energy(n2, block)
    floor = ndimage.percentile_filter(energy[:: block // 2], 50, size=401)
    floor = np.repeat(floor, block // 2)[: len(energy)]
    floor = np.pad(floor, (0, len(energy) - len(floor)), mode="edge")
    excess = energy / np.maximum(floor, 1e-20) - 1
    peaks, _ = signal.find_peaks(excess, height=10**0.3, distance=block)
    programme = moving_energy(p2, block)
    out = []
    for k in peaks:
        re_programme = to_dB(excess[k] * floor[k] / max(programme[k], 1e-20))
        if re_programme >= -36:
            lo, hi = max(0, k - block // 2), min(len(n2), k + block // 2 + 1)
            out.append({"capture_s": (lo + int(np.argmax(n2[lo:hi]))) / rate, "over_surface_dB": to_dB(excess[k]),
                        "re_programme_dB": re_programme,
                        "audibility": judge_audibility(to_dB(excess[k]), re_programme)})
    return out


# ---- one side ---------------------------------------------------------------------------------------------------


def third_octaves(programme, reference, rate, reference_rate):
    """Rows of centre_Hz, left and right level of the programme as played over the reference, dB by power."""
    f1, c = signal.welch(programme, rate, nperseg=rate // 4, axis=0)
    f0, r = signal.welch(reference, reference_rate, nperseg=reference_rate // 4, axis=0)
    rows = []
    for k in range(-9, 13):
        centre = 1000 * 2 ** (k / 3)
        if centre * 1.13 > min(rate, reference_rate) / 2:
            break
        lo, hi = centre * 2 ** (-1 / 6), centre * 2 ** (1 / 6)
        num = c[(f1 >= lo) & (f1 < hi)].sum(axis=0)
        den = r[(f0 >= lo) & (f0 < hi)].sum(axis=0)
        if np.all(den > 0):
            rows.append([centre, *(10 * np.log10(np.maximum(num / den, 1e-12))).tolist()])
    return rows


def played_programme(stylus, inner, player):
    """The chain after the stylus: equalisation, cartridge, crosstalk, gain."""
    times = [t * (1 + e) for t, e in zip(RIAA_S, player.equalisation_error)]
    gain = 10 ** (player.gain_dB / 20)

    def straight(f):
        return gain * equalisation(f, times) * chain(f, player)

    out = filter_whole(stylus, inner, straight)
    if not player.mono:
        out += filter_whole(stylus[:, ::-1], inner, lambda f: straight(f) * crosstalk(f, player))
    out[:, 1] *= 10 ** (player.balance_dB / 20)
    return out


def low_frequencies(frames, rate, player, rng):
    """Hum with harmonics, rumble, and the thump of setting down."""
    time = np.arange(frames) / rate
    low = np.zeros((frames, 2))
    for k, level in ((1, 0.0), (2, -8.0), (3, -5.0), (5, -14.0)):
        tone = 10 ** ((player.hum_dB + level) / 20) * np.sin(2 * np.pi * k * player.hum_Hz * time + k)
        low += tone[:, None] * np.array([1.0, 0.8])
    sos = signal.butter(2, (8.0, 45.0), "bandpass", fs=1000, output="sos")
    rumble = signal.sosfilt(sos, rng.standard_normal((int(frames / rate * 1000) + 10, 2)), axis=0)
    rumble *= 10 ** (player.rumble_dB / 20) / rumble.std()
    for c in (0, 1):
        low[:, c] += np.interp(time, np.arange(len(rumble)) / 1000, rumble[:, c])
    if player.needle and player.lead_in_s > 0.6:
        t = time[: int(0.4 * rate)]
        n0 = int(0.1 * rate)
        low[n0 : n0 + t.size] += (0.2 * np.exp(-t / 0.04) * np.sin(2 * np.pi * 55 * t))[:, None]
    return low


def play(reference, reference_rate, player, noise=None):
    """Plays a side. Returns capture (frames, 2) at player.rate_Hz, and the truth as a dict."""
    seeds = np.random.SeedSequence(player.seed).spawn(6)
    drive_rng, surface_rng, fault_rng, crackle_rng, polar_rng, chain_rng = map(np.random.default_rng, seeds)
    if reference.shape[1] == 1:
        reference = np.repeat(reference, 2, axis=1)
    length_s = len(reference) / reference_rate
    course = Course(player, length_s, drive_rng)
    rate = player.rate_Hz
    inner = rate * (1 if rate > 64000 else 2)
    frames = int(course.end_s * inner)
    velocity = cut_velocity(reference[:, :2], reference_rate, player)
    programme = played_programme(trace(velocity, reference_rate, course, player, inner, frames), inner, player)

    surface = shaped_noise(frames, inner, player.hiss_slope_dB_octave, surface_rng) * 10 ** (player.hiss_dB / 20)
    if player.hiss_polar_dB:
        slow = 10 ** (polar_gain_dB(course.programme_of(np.arange(0, course.end_s + 0.02, 0.01)), player, polar_rng) / 20)
        surface *= np.interp(np.arange(frames) / inner, np.arange(slow.size) * 0.01, slow)[:, None]
    if noise is not None and player.noise_dB is not None:
        surface += real_noise(noise, frames, inner, surface_rng) * 10 ** (player.noise_dB / 20)
    if player.crackle_per_s > 0:
        surface += crackle(frames, inner, player, crackle_rng)

    faults = Faults(player, course, frames, inner, programme, fault_rng)
    for seam in course.seams:  # the stylus lands with a thud
        faults.one({"kind": "pop", "capture_s": seam["capture_s"], "level_dB": -22.0, "pattern": "seam"})
    stream = filter_whole(faults.stream, inner, lambda f: chain(f, player)) + faults.dips
    streams = [programme, surface, stream, low_frequencies(frames, inner, player, chain_rng)]
    if inner != rate:
        streams = [signal.resample_poly(x, 1, 2, axis=0, window=("kaiser", 10.0)) for x in streams]
    programme, surface, stream, low = streams
    n2, p2 = assess(faults.laid, stream, surface, programme, rate)
    clicks = own_clicks(n2, p2, rate)
    capture = programme + surface + stream + low

    from_s, to_s = player.excerpt_s or (0.0, len(capture) / rate)
    first, last = int(from_s * rate), min(int(to_s * rate), len(capture))
    start_s, stop_s = first / rate, last / rate
    scale = min(1.0, 0.97 / np.max(np.abs(capture[first:last])))
    capture = capture[first:last] * scale
    clipped = []
    if player.clip:
        limit = player.clip * np.max(np.abs(capture))
        hit = np.flatnonzero(np.max(np.abs(capture), axis=1) > limit)
        capture = np.clip(capture, -limit, limit)
        groups = np.split(hit, np.flatnonzero(np.diff(hit) > 0.005 * rate) + 1) if hit.size else []
        clipped = [{"from_s": g[0] / rate, "to_s": g[-1] / rate} for g in groups]

    def inside(rows):
        return [dict(r, capture_s=r["capture_s"] - start_s) for r in rows if start_s <= r["capture_s"] < stop_s]

    laid = inside(faults.laid)
    for fault in laid:
        fault["onset_s"] -= start_s
        fault["end_s"] -= start_s
        fault["programme_s"] = float(course.programme_of(fault["capture_s"] + start_s)[0])
        turns = fault["programme_s"] * player.rpm / 60
        fault["revolution"], fault["angle_deg"] = int(np.floor(turns)), 360 * (turns % 1)
        fault["required"] = fault["audibility"] != "masked" and fault["pattern"] != "seam" \
            and 0 <= fault["programme_s"] < length_s
        if player.swap and fault["channel"] != "both":
            fault["channel"] = "left" if fault["channel"] == "right" else "right"
    track_s = np.arange(start_s, stop_s, 0.02)
    span = slice(int(max(course.start_s, 0) * rate), int(course.stop_s * rate))
    octaves = third_octaves(programme[span] * scale, reference, rate, reference_rate)
    if player.swap:
        capture = capture[:, ::-1]
    power = moving_energy(n2, 0.01 * rate)[first + int(0.005 * rate) : last : rate // 100]
    truth = {
        "schema": "goodside.second_player/1",
        "player": dataclasses.asdict(player),
        "found": True,
        "length_s": length_s,
        "scale": scale,
        "programme_start_s": course.start_s - start_s,
        "programme_end_s": course.stop_s - start_s,
        "speed_error_ppm": course.mean_rate * 1e6,
        "faults": laid,
        "jumps": inside(course.seams),
        "own_clicks": inside(clicks),
        "clipped": clipped,
        "third_octave": octaves,  # in the channels of the cut
        "surface_100Hz_dB": np.round(10 * np.log10(np.maximum(power, 1e-20)), 2).tolist(),
        "track": {"time_s": np.round(track_s - start_s, 6).tolist(),
                  "programme_s": np.round(course.programme_of(track_s), 10).tolist()},
    }
    return player.polarity * capture, truth


def options_of(player):
    """What the bench is told: the geometry, and the arm when it has one."""
    out = ["--rpm", f"{player.rpm:.6f}", "--outer-radius", f"{player.outer_radius_m * 1e3:.4f} mm", "--pitch",
           f"{player.pitch_m * 1e6:.3f} um"]
    if player.arm_length_m > 0:
        out += ["--arm-length", f"{player.arm_length_m * 1e3:.2f} mm", "--arm-mount", f"{player.arm_mount_m * 1e3:.2f} mm"]
    return out


def write(folder, capture, truth, reference, reference_rate, options, reference_format="wav", subtype="PCM_24"):
    folder = pathlib.Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    soundfile.write(folder / "capture.wav", capture, truth["player"]["rate_Hz"], subtype=subtype)
    truth["reference"], truth["options"] = f"reference.{reference_format}", options
    soundfile.write(folder / truth["reference"], reference, reference_rate, subtype="PCM_24")
    (folder / "truth.json").write_text(json.dumps(truth))


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("programme")
    parser.add_argument("--out", required=True)
    parser.add_argument("--player", help="JSON object with fields of Player")
    parser.add_argument("--noise", help="a recording of a record's own noise, looped under the programme")
    given = parser.parse_args()
    fields = json.loads(pathlib.Path(given.player).read_text()) if given.player else {}
    player = Player(**fields)
    reference, rate = read_audio(given.programme)
    capture, truth = play(reference, rate, player, given.noise)
    write(given.out, capture, truth, reference, rate, options_of(player))
    counts = {k: sum(f["audibility"] == k for f in truth["faults"]) for k in ("plain", "slight", "masked")}
    print(f"{given.out}: {len(capture) / player.rate_Hz:.1f} s, faults {counts}")


if __name__ == "__main__":
    main()
