#include "listen/echo.hpp"

#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <optional>

#include "base/expects.hpp"
#include "signal/clones.hpp"
#include "signal/rank.hpp"

namespace goodside::listen {
namespace {

constexpr std::size_t order = 8;  // of the whitening filter
constexpr std::size_t taps = 5;   // of the present programme
constexpr std::size_t unknowns = taps + EchoBlock::shifts;
constexpr double normal_mad = 1.4826;
constexpr double dB_per_neper = 8.685889638065037;

GOODSIDE_CLONES float dot(const float* a, const float* b, std::size_t count) {
  constexpr std::size_t lanes = 32;
  float sums[lanes] = {};
  std::size_t j = 0;
  for (; j + lanes <= count; j += lanes)
    for (std::size_t lane = 0; lane < lanes; ++lane) sums[lane] += a[j + lane] * b[j + lane];
  float total = 0.0F;
  for (; j < count; ++j) total += a[j] * b[j];
  for (const float sum : sums) total += sum;
  return total;
}

float median_magnitude(std::span<const float> values) {
  std::vector<float> magnitudes(values.size());
  std::transform(
      values.begin(), values.end(), magnitudes.begin(), [](float v) { return std::abs(v); });
  return signal::median_of(magnitudes);
}

// Ticks must not steer the fit, nor the whitening filter.
std::vector<float> clipped(std::span<const float> values, double deviations) {
  const auto limit = static_cast<float>(deviations * normal_mad) * median_magnitude(values);
  std::vector<float> out(values.begin(), values.end());
  for (float& v : out) v = std::clamp(v, -limit, limit);
  return out;
}

using Whitener = std::array<float, order + 1>;

// Levinson recursion on the autocorrelation; 1e-6 of white noise keeps it well posed.
Whitener whitener_of(std::span<const float> signal) {
  std::array<double, order + 1> correlation{};
  for (std::size_t lag = 0; lag <= order; ++lag)
    correlation[lag] =
        static_cast<double>(dot(signal.data(), signal.data() + lag, signal.size() - lag));
  constexpr double white = 1e-6;
  correlation[0] *= 1.0 + white;
  std::array<double, order + 1> a{1.0};
  double error = correlation[0];
  for (std::size_t p = 1; p <= order && error > 0.0; ++p) {
    double sum = 0.0;
    for (std::size_t i = 0; i < p; ++i) sum += a[i] * correlation[p - i];
    const double reflection = -sum / error;
    std::array<double, order + 1> next = a;
    for (std::size_t i = 1; i <= p; ++i) next[i] = a[i] + reflection * a[p - i];
    a = next;
    error *= 1.0 - reflection * reflection;
  }
  Whitener filter{};
  std::transform(
      a.begin(), a.end(), filter.begin(), [](double v) { return static_cast<float>(v); });
  return filter;
}

GOODSIDE_CLONES void whiten_into(const float* in,
                                 std::size_t count,
                                 const float* filter,
                                 float* out) {
  for (std::size_t j = 0; j < count; ++j) out[j] = 0.0F;
  for (std::size_t i = 0; i <= order; ++i)
    for (std::size_t j = order; j < count; ++j) out[j] += filter[i] * in[j - i];
}

std::vector<float> whitened(std::span<const float> signal, const Whitener& filter) {
  std::vector<float> out(signal.size());
  whiten_into(signal.data(), signal.size(), filter.data(), out.data());
  return out;
}

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

struct Mean {
  double value{}, error{};
};

Mean robust_mean(const std::vector<double>& values, const std::vector<double>& variances) {
  // A floor under the variances keeps a few quiet blocks from carrying the whole side.
  constexpr double share_of_median = 0.1, huber = 2.5;
  const double floor = share_of_median * median(variances);
  const std::size_t count = values.size();
  std::vector<double> weight(count), bent(count, 1.0), off(count);
  for (std::size_t b = 0; b < count; ++b) weight[b] = 1.0 / (variances[b] + floor);
  Mean mean{.value = median(values)};
  constexpr int rounds = 5;
  for (int round = 0; round < rounds; ++round) {
    for (std::size_t b = 0; b < count; ++b)
      off[b] = std::abs(values[b] - mean.value) * std::sqrt(weight[b]);
    const double limit = huber * normal_mad * median(off);
    double sum = 0.0, weights = 0.0;
    for (std::size_t b = 0; b < count; ++b) {
      bent[b] = off[b] > limit ? limit / off[b] : 1.0;
      sum += weight[b] * bent[b] * values[b];
      weights += weight[b] * bent[b];
    }
    mean.value = sum / weights;
  }
  double scatter = 0.0, weights = 0.0;
  for (std::size_t b = 0; b < count; ++b) {
    const double w = weight[b] * bent[b];
    scatter += w * w * (values[b] - mean.value) * (values[b] - mean.value);
    weights += w;
  }
  const auto n = static_cast<double>(count);
  mean.error = std::sqrt(scatter * n / (n - 1.0)) / weights;
  return mean;
}

}  // namespace

std::array<double, EchoBlock::shifts> EchoFit::shifts_s(double rpm) {
  EXPECTS(rpm > 0.0);
  std::array<double, EchoBlock::shifts> turns{
      1.0, -1.0, 0.83, -0.83, 0.91, -0.91, 1.11, -1.11, 1.21, -1.21};
  for (double& turn : turns) turn *= 60.0 / rpm;
  return turns;
}

void EchoFit::take(const EchoBlock& block, double rate_Hz) {
  const std::size_t count = block.residual.size();
  EXPECTS(rate_Hz >= 6000.0 && rate_Hz <= 12000.0);
  EXPECTS(static_cast<double>(count) >= 2.0 * rate_Hz &&
          static_cast<double>(count) <= 20.0 * rate_Hz);
  EXPECTS(block.prediction.size() == count && block.present.size() == count);
  for (const auto& stream : block.shifted) EXPECTS(stream.size() == count);

  if (!(median_magnitude(block.residual) > 0.0F)) return;
  constexpr double loose = 6.0, tight = 4.0;
  const std::vector<float> calm = clipped(block.residual, loose);
  const Whitener filter = whitener_of(calm);
  const std::vector<float> target = clipped(whitened(calm, filter), tight);
  const std::vector<float> prediction = whitened(block.prediction, filter);
  const std::vector<float> present = whitened(block.present, filter);
  std::vector<std::vector<float>> shifted;
  for (const auto& stream : block.shifted) shifted.push_back(whitened(stream, filter));

  const auto segment = static_cast<std::size_t>(0.1 * rate_Hz);
  const std::size_t first = order + taps / 2, segments = (count - first - taps / 2) / segment;
  std::vector<double> power(segments);
  for (std::size_t s = 0; s < segments; ++s) {
    const float* at = target.data() + first + s * segment;
    power[s] = static_cast<double>(dot(at, at, segment));
  }
  const double usual = median(power);
  if (!(usual > 0.0)) return;

  Eigen::MatrixXd gram = Eigen::MatrixXd::Zero(unknowns + 1, unknowns + 1);
  double across = 0.0, cut = 0.0;
  for (std::size_t s = 0; s < segments; ++s) {
    const std::size_t from = first + s * segment;
    const double weight = 2.0 * usual / (power[s] + usual);
    std::array<const float*, unknowns + 1> row{};
    for (std::size_t k = 0; k < taps; ++k) row[k] = prediction.data() + from + k - taps / 2;
    for (std::size_t i = 0; i < EchoBlock::shifts; ++i) row[taps + i] = shifted[i].data() + from;
    row[unknowns] = target.data() + from;
    for (std::size_t i = 0; i <= unknowns; ++i)
      for (std::size_t j = 0; j <= i; ++j)
        gram(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j)) +=
            weight * static_cast<double>(dot(row[i], row[j], segment));
    across +=
        weight * static_cast<double>(dot(prediction.data() + from, present.data() + from, segment));
    cut += weight * static_cast<double>(dot(present.data() + from, present.data() + from, segment));
  }

  constexpr auto n = static_cast<Eigen::Index>(unknowns);
  Eigen::MatrixXd normal = gram.topLeftCorner(n, n).selfadjointView<Eigen::Lower>();
  const double largest = normal.diagonal().maxCoeff();
  if (!(largest > 0.0)) return;
  // Float sums are good to 1e-7 of the largest; less is no information, and must read as a huge
  // variance.
  constexpr double ridge = 1e-7;
  normal.diagonal().array() += ridge * largest;
  const Eigen::VectorXd right = gram.row(n).head(n).transpose();
  const Eigen::LDLT<Eigen::MatrixXd> solver{normal};
  const Eigen::VectorXd share = solver.solve(right);
  const Eigen::MatrixXd inverse = solver.solve(Eigen::MatrixXd::Identity(n, n));
  const double left_over = std::max(gram(n, n) - share.dot(right), ridge * gram(n, n)) /
                           static_cast<double>(segments * segment);
  Block fitted;
  for (std::size_t i = 0; i < EchoBlock::shifts; ++i) {
    const auto at = static_cast<Eigen::Index>(taps + i);
    fitted.share[i] = share(at);
    fitted.variance[i] = left_over * inverse(at, at);
  }
  // The player's gain needs programme: at least as much as there is noise.
  if (across > 0.0 && cut > 0.0 && across * across > cut * gram(n, n)) fitted.gain = across / cut;
  blocks_.push_back(fitted);
}

void EchoFit::merge(const EchoFit& later) {
  blocks_.insert(blocks_.end(), later.blocks_.begin(), later.blocks_.end());
}

EchoFound EchoFit::finish() const {
  constexpr std::size_t fewest_blocks = 4;
  EchoFound found;
  const auto refuse = [&](const char* field, const std::string& why) {
    found.undetermined.push_back({.field = field, .why = why});
  };
  std::vector<double> gains;
  for (const Block& block : blocks_)
    if (block.gain > 0.0) gains.push_back(block.gain);
  if (blocks_.size() < fewest_blocks || gains.empty()) {
    const std::string why = "too little programme was heard to look one turn away";
    refuse("noise.echo.lead_dB", why);
    refuse("noise.echo.lag_dB", why);
    return found;
  }
  const double usual_gain = median(gains);

  std::array<Mean, EchoBlock::shifts> mean;
  for (std::size_t i = 0; i < EchoBlock::shifts; ++i) {
    std::vector<double> values, variances;
    for (const Block& block : blocks_) {
      const double gain = block.gain > 0.0 ? block.gain : usual_gain;
      values.push_back(block.share[i] / gain);
      variances.push_back(block.variance[i] / (gain * gain));
    }
    mean[i] = robust_mean(values, variances);
  }
  // What the controls scatter beyond their errors is the music's likeness to itself, not the
  // groove.
  double excess = 0.0, control = 0.0;
  constexpr std::size_t first_control = 2, controls = EchoBlock::shifts - first_control;
  for (std::size_t i = first_control; i < EchoBlock::shifts; ++i) {
    const double ratio = mean[i].error > 0.0 ? mean[i].value / mean[i].error : 0.0;
    excess += ratio * ratio / controls;
    control += mean[i].value * mean[i].value / controls;
  }
  const double widening = std::max(1.0, std::sqrt(excess));
  constexpr double sure = 4.5, over_controls = 2.0;
  const auto judge =
      [&](const Mean& m, std::optional<double>& dB, double& sigma_dB, const char* field) {
        const double error = m.error * widening, size = std::abs(m.value);
        const double threshold = std::max(sure * error, over_controls * std::sqrt(control));
        if (size > threshold) {
          dB = 20.0 * std::log10(size);
          sigma_dB = dB_per_neper * error / size;
        } else if (threshold > 0.0) {
          refuse(field,
                 fmt::format("no echo stands out; one of {:.0f} dB would have",
                             20.0 * std::log10(threshold)));
        } else {
          refuse(field, "the residual is silent");
        }
      };
  judge(mean[0], found.echo.lead_dB, found.lead_sigma_dB, "noise.echo.lead_dB");
  judge(mean[1], found.echo.lag_dB, found.lag_sigma_dB, "noise.echo.lag_dB");
  return found;
}

}  // namespace goodside::listen
