#pragma once
#include <cstdint>
#include <vector>

namespace goodside::line {

/// A piece of dance music that never was: plucked strings over a bass and a drum, in dorian. The
/// melody is a random walk, so that no two bars are alike and a jump cannot hide in a repeat.
struct DemoTune {
  std::uint64_t seed{1};
  double tonic_Hz{146.83};
  double beat_s{0.42};
  double duration_s{48.0};
};

/// The tune as interleaved stereo; peak 0.4 of full scale, silent at both ends. Equal tunes give
/// equal samples. Strings: K. Karplus and A. Strong, Computer Music Journal 7 (1983), with a first-
/// order all-pass for the part of a sample. Preconditions: rate 8 to 192 kHz, 5 s or longer.
std::vector<float> demo_tune(const DemoTune& tune, double rate_Hz);

}  // namespace goodside::line
