"""Notes that change four times a second, so that every place is like no other: programme.py FILE [SECONDS]"""

import sys

import numpy
import soundfile

RATE_HZ = 48000


def notes(seconds):
    """One channel, peak 0.27 of full scale."""
    frame = numpy.arange(int(seconds * RATE_HZ))
    note_Hz = 220.0 * 2.0 ** ((frame * 4 // RATE_HZ * 7 % 24) / 12.0)
    return 0.27 * numpy.sin(2.0 * numpy.pi * note_Hz * frame / RATE_HZ)


if __name__ == "__main__":
    soundfile.write(sys.argv[1], notes(float(sys.argv[2]) if len(sys.argv) > 2 else 20.0), RATE_HZ)
