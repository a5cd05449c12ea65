#pragma once
#include <array>
#include <cmath>
#include <complex>
#include <cstddef>
#include <cstdint>
#include <numbers>
#include <random>
#include <vector>

#include "listen/spectral_frame.hpp"
#include "signal/aligned.hpp"
#include "signal/fft.hpp"

namespace goodside::listen::simulated {

using Track = std::vector<float>;
using Stereo = std::array<Track, 2>;

/// Gaussian noise from a fixed seed, the same with every standard library (Box and Muller).
class Noise {
 public:
  explicit Noise(std::uint32_t seed) : engine_{seed} {}
  double operator()() {
    const double radius = std::sqrt(-2.0 * std::log(1.0 - uniform()));
    return radius * std::cos(2.0 * std::numbers::pi * uniform());
  }
  double uniform() { return static_cast<double>(engine_()) / 4294967296.0; }

 private:
  std::mt19937 engine_;
};

/// What a bench would hold of a played side, in the capture's time.
struct Played {
  double rate_Hz{48000.0};
  Stereo reference, prediction, residual;
  [[nodiscard]] std::size_t size() const { return residual[0].size(); }
};

/// Calls `use(frame)` with each Hann frame of `length` samples at half overlap; frames `from` to
/// `until` by count. Capture and programme time are the same.
template <class Use>
void each_frame(const Played& played,
                std::size_t length,
                const Use& use,
                std::size_t from = 0,
                std::size_t until = SIZE_MAX) {
  const signal::RealFft fft{length};
  std::vector<float> window(length);
  double window_power = 0.0;
  for (std::size_t j = 0; j < length; ++j) {
    const double turn =
        2.0 * std::numbers::pi * static_cast<double>(j) / static_cast<double>(length);
    const double w = 0.5 * (1.0 - std::cos(turn));
    window[j] = static_cast<float>(w);
    window_power += w * w;
  }
  using Spectrum = signal::Aligned<std::complex<float>>;
  signal::Aligned<float> shaped(length);
  std::array<std::array<Spectrum, 2>, 4> spectra;
  for (auto& pair : spectra)
    for (auto& spectrum : pair) spectrum.resize(fft.bins());
  const std::size_t hop = length / 2;
  for (std::size_t f = from; f < until && f * hop + length <= played.size(); ++f) {
    for (std::size_t c = 0; c < 2; ++c) {
      const auto transform = [&](const Track& track, Spectrum& spectrum) {
        for (std::size_t j = 0; j < length; ++j) shaped[j] = window[j] * track[f * hop + j];
        fft.forward(shaped, spectrum);
      };
      transform(played.reference[c], spectra[1][c]);
      transform(played.prediction[c], spectra[2][c]);
      transform(played.residual[c], spectra[3][c]);
      for (std::size_t k = 0; k < fft.bins(); ++k)
        spectra[0][c][k] = spectra[2][c][k] + spectra[3][c][k];
    }
    SpectralFrame frame;
    frame.capture_s = static_cast<double>(f * hop + hop) / played.rate_Hz;
    frame.programme_s = frame.capture_s;
    frame.bin_Hz = played.rate_Hz / static_cast<double>(length);
    frame.hop_s = static_cast<double>(hop) / played.rate_Hz;
    frame.window_power = window_power;
    for (std::size_t c = 0; c < 2; ++c) {
      frame.capture[c] = spectra[0][c];
      frame.reference[c] = spectra[1][c];
      frame.prediction[c] = spectra[2][c];
      frame.residual[c] = spectra[3][c];
    }
    use(frame);
  }
}

/// Coloured noise whose loudness moves through `range_dB` below `rms` in steps of 0.3 s: a stand-in
/// for music.
inline Track programme(
    std::size_t size, double rate_Hz, double rms, double range_dB, std::uint32_t seed) {
  Noise noise{seed};
  Track track(size);
  double slow = 0.0, gain = 1.0, toward = 1.0;
  const auto step = static_cast<std::size_t>(0.3 * rate_Hz);
  for (std::size_t j = 0; j < size; ++j) {
    if (j % step == 0) toward = std::pow(10.0, -range_dB * noise.uniform() / 20.0);
    gain += 0.002 * (toward - gain);
    const double white = noise();
    slow += 0.15 * (white - slow);
    track[j] = static_cast<float>(rms * gain * (2.0 * slow + 0.3 * white));
  }
  return track;
}

inline Track white(std::size_t size, double rms, std::uint32_t seed) {
  Noise noise{seed};
  Track track(size);
  for (float& v : track) v = static_cast<float>(rms * noise());
  return track;
}

inline void add(Track& to, const Track& what, double gain) {
  for (std::size_t j = 0; j < to.size(); ++j) to[j] += static_cast<float>(gain) * what[j];
}

}  // namespace goodside::listen::simulated
