#include "listen/weighting.hpp"

#include <cmath>
#include <complex>
#include <numbers>

namespace goodside::listen {
namespace {

double squared(double x) {
  return x * x;
}

struct Section {
  double b0, b1, b2, a1, a2;
  [[nodiscard]] double power(std::complex<double> back) const {
    return std::norm(b0 + back * (b1 + back * b2)) / std::norm(1.0 + back * (a1 + back * a2));
  }
};

double k_gain(double frequency_Hz) {
  constexpr double rate_Hz = 48000.0;
  constexpr Section head{
      1.53512485958697, -2.69169618940638, 1.19839281085285, -1.69065929318241, 0.73248077421585};
  constexpr Section low_cut{1.0, -2.0, 1.0, -1.99004745483398, 0.99007225036621};
  const auto back = std::polar(1.0, -2.0 * std::numbers::pi * frequency_Hz / rate_Hz);
  return head.power(back) * low_cut.power(back);
}

}  // namespace

double a_weighting_power(double frequency_Hz) {
  constexpr double f1 = 20.598997, f2 = 107.65265, f3 = 737.86223, f4 = 12194.217;
  constexpr double at_1_kHz_dB = -1.99966;
  const double f = squared(frequency_Hz);
  const double response =
      squared(squared(f4) * squared(f)) /
      (squared(f + squared(f1)) * (f + squared(f2)) * (f + squared(f3)) * squared(f + squared(f4)));
  return response * std::pow(10.0, -at_1_kHz_dB / 10.0);
}

double itu_468_weighting_power(double frequency_Hz) {
  const auto response = [](double f) {
    const double f2 = squared(f);
    const double even =
        ((-4.737338981378384e-24 * f2 + 2.043828333606125e-15) * f2 - 1.363894795463638e-7) * f2 +
        1.0;
    const double odd =
        ((1.306612257412824e-19 * f2 - 2.118150887518656e-11) * f2 + 5.559488023498642e-4) * f;
    return f2 / (squared(even) + squared(odd));
  };
  static const double at_1_kHz = response(1000.0);
  return response(frequency_Hz) / at_1_kHz;
}

double k_weighting_power(double frequency_Hz) {
  constexpr double valid_to_Hz = 24000.0;
  if (frequency_Hz > valid_to_Hz) return 0.0;
  static const double at_1_kHz = k_gain(1000.0);
  return k_gain(frequency_Hz) / at_1_kHz;
}

double rumble_weighting_power(double frequency_Hz) {
  constexpr double top_Hz = 315.0;
  return squared(squared(frequency_Hz / top_Hz));
}

double mean_weight(const std::function<double(double)>& weighting_power, const Band& band) {
  constexpr int steps = 16;
  const double step_Hz = (band.high_Hz - band.low_Hz) / steps;
  double sum = 0.0;
  for (int i = 0; i < steps; ++i) sum += weighting_power(band.low_Hz + (i + 0.5) * step_Hz);
  return sum / steps;
}

}  // namespace goodside::listen
