"""Programme audio for tests: programme.py FILE [SECONDS]

notes      four a second, so that every place is like no other
plucked    strings over a bass and a drum, a random walk in dorian, as loud and as busy as dance music
"""

import sys

import numpy
import soundfile

RATE_HZ = 48000


def notes(seconds):
    """One channel, peak 0.27 of full scale."""
    frame = numpy.arange(int(seconds * RATE_HZ))
    note_Hz = 220.0 * 2.0 ** ((frame * 4 // RATE_HZ * 7 % 24) / 12.0)
    return 0.27 * numpy.sin(2.0 * numpy.pi * note_Hz * frame / RATE_HZ)


def plucked(seconds, seed=1, beat_s=0.4):
    """Two channels, peak 0.4 of full scale. Strings: K. Karplus and A. Strong, Computer Music Journal 7 (1983)."""
    from scipy import signal

    rng = numpy.random.default_rng(seed)
    out = numpy.zeros((int(seconds * RATE_HZ), 2))
    scale = [0, 2, 3, 5, 7, 9, 10]
    step = 7

    def put(at_s, sound, left, right):
        begin = int(at_s * RATE_HZ)
        sound = sound[: max(0, len(out) - begin)]
        rise = min(len(sound), RATE_HZ // 200)
        sound[:rise] *= numpy.sin(0.5 * numpy.pi * numpy.arange(rise) / max(1, rise)) ** 2
        out[begin : begin + len(sound)] += numpy.outer(sound, [left, right])

    def string(tone_Hz, length_s, loud):
        period = rng.uniform(-1.0, 1.0, int(RATE_HZ / tone_Hz))
        periods = []
        for _ in range(int(length_s * RATE_HZ) // len(period)):
            periods.append(period)
            period = 0.498 * (period + numpy.roll(period, 1))
        return loud * numpy.concatenate(periods)

    for beat in range(int(seconds / beat_s)):
        at_s = beat * beat_s
        step = int(numpy.clip(step + rng.integers(-2, 3), 3, 17))
        tone_Hz = 146.83 * 2.0 ** ((12 * (step // 7) + scale[step % 7]) / 12.0)
        pan = rng.uniform(0.3, 0.7)
        put(at_s, string(tone_Hz, 1.2, 0.5), pan, 1.0 - pan)
        if beat % 2 == 0:
            put(at_s, string(73.42 * 2.0 ** (rng.choice([0, 5, 7]) / 12.0), 0.8, 0.6), 0.5, 0.5)
        drum = numpy.arange(int(0.15 * RATE_HZ)) / RATE_HZ
        put(at_s + 0.5 * beat_s, 0.3 * numpy.exp(-30.0 * drum) * rng.standard_normal(len(drum)), 0.5, 0.5)
    # Cutters are given no white noise: the spectrum falls off as that of music does.
    out = signal.lfilter(*signal.butter(1, 2000.0, fs=RATE_HZ), out, axis=0)
    fade = numpy.minimum(1.0, numpy.minimum(numpy.arange(len(out)), numpy.arange(len(out))[::-1]) / (0.2 * RATE_HZ))
    return 0.4 * out / numpy.abs(out).max() * fade[:, None]


if __name__ == "__main__":
    soundfile.write(sys.argv[1], notes(float(sys.argv[2]) if len(sys.argv) > 2 else 20.0), RATE_HZ)
