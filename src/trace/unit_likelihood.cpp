#include "trace/unit_likelihood.hpp"

#include <algorithm>
#include <cmath>

#include "trace/range_scan.hpp"

namespace goodside::trace {
namespace {

constexpr std::size_t most_blocks = 32;

/// Share of the member's interval at `onset` or behind it.
double behind(const Member& member, double onset) {
  const double width = static_cast<double>(member.high - member.low + 1);
  return std::clamp((static_cast<double>(member.high) - onset + 1.0) / width, 0.0, 1.0);
}

}  // namespace

double touched_with(double a, double log_ratio) {
  if (a >= 1.0) return log_ratio;
  if (a <= 0.0) return 0.0;
  return log_add(std::log(a) + log_ratio, std::log1p(-a));
}

UnitLikelihood::UnitLikelihood(const Axis& axis) : at_(axis.edge.size(), ByDetection{}) {
  const std::size_t cells = axis.edge.size();
  from.assign(detection_count, std::vector<double>(cells, 0.0));
  upto.assign(detection_count, std::vector<double>(cells + 1, 0.0));
  if (!axis.uncertain || cells < 2) return;
  middle_.assign(cells, 0.0);
  for (std::size_t k = 1; k < cells; ++k)
    middle_[k] = 0.5 * static_cast<double>(axis.edge[k - 1] + 1 + axis.edge[k]);
  blocks = std::min(most_blocks, cells + 1);
  together.assign(detection_count, std::vector<double>(blocks * blocks, 0.0));
  for (std::size_t b = 0; b < blocks; ++b) {
    const std::size_t first =
        std::clamp<std::size_t>((b * (cells + 1) + blocks - 1) / blocks, 1, cells - 1);
    const std::size_t last = std::clamp<std::size_t>(
        ((b + 1) * (cells + 1) + blocks - 1) / blocks - 1, first, cells - 1);
    onset_.push_back(middle_[first + (last - first) / 3]);
    end_.push_back(middle_[last - (last - first) / 3]);
  }
}

void UnitLikelihood::add(const Axis& axis,
                         const Member& member,
                         const ByDetection& log_ratio,
                         double count) {
  const auto low = static_cast<std::size_t>(
      std::lower_bound(axis.edge.begin(), axis.edge.end(), member.low) - axis.edge.begin());
  for (std::size_t p = 0; p < detection_count; ++p)
    at_[low][p] += count * touched_with(member.share, log_ratio[p]);
  if (member.high > member.low && !middle_.empty()) add_uncertain(axis, member, log_ratio, count);
}

void UnitLikelihood::add_uncertain(const Axis& axis,
                                   const Member& member,
                                   const ByDetection& ratio,
                                   double count) {
  ByDetection gain{}, full{};
  for (std::size_t p = 0; p < detection_count; ++p) {
    gain[p] = member.share * std::expm1(ratio[p]);
    full[p] = count * std::log1p(gain[p]);
  }
  const auto touched = [&](double share, std::size_t p) {
    return count * std::log1p(share * gain[p]);
  };
  const auto first = static_cast<std::size_t>(
      std::lower_bound(axis.edge.begin(), axis.edge.end(), member.low) - axis.edge.begin());
  for (std::size_t k = first + 1; k < axis.edge.size() && axis.edge[k - 1] < member.high; ++k) {
    const double share = behind(member, middle_[k]);
    for (std::size_t p = 0; p < detection_count; ++p) {
      from[p][k] += touched(share, p);
      upto[p][k] += touched(1.0 - share, p) - full[p];
    }
  }
  const auto low = static_cast<double>(member.low), high = static_cast<double>(member.high);
  std::vector<ByDetection> alone(blocks);  // what an end there says by itself
  for (std::size_t j = 0; j < blocks; ++j)
    for (std::size_t p = 0; p < detection_count; ++p)
      alone[j][p] = end_[j] <= high ? touched(1.0 - behind(member, end_[j]), p) : 0.0;
  for (std::size_t i = 0; i < blocks; ++i) {
    if (onset_[i] <= low || onset_[i] > high) continue;
    const double after = behind(member, onset_[i]);
    ByDetection of_onset{};
    for (std::size_t p = 0; p < detection_count; ++p) of_onset[p] = touched(after, p) - full[p];
    for (std::size_t j = i; j < blocks && end_[j] <= high; ++j) {
      const double between = std::max(0.0, after - behind(member, end_[j]));
      for (std::size_t p = 0; p < detection_count; ++p)
        together[p][i * blocks + j] += touched(between, p) - of_onset[p] - alone[j][p];
    }
  }
}

void UnitLikelihood::finish() {
  for (std::size_t p = 0; p < detection_count; ++p) {
    double sum = 0.0;
    for (std::size_t k = at_.size(); k-- > 0;) {
      sum += at_[k][p];
      from[p][k] += sum;
      upto[p][k] -= sum;
    }
  }
}

void UnitLikelihood::lay_under(const UnitLikelihood& base) {
  const auto add_to = [](std::vector<std::vector<double>>& sum,
                         const std::vector<std::vector<double>>& more) {
    for (std::size_t p = 0; p < sum.size(); ++p)
      for (std::size_t k = 0; k < sum[p].size(); ++k) sum[p][k] += more[p][k];
  };
  add_to(from, base.from);
  add_to(upto, base.upto);
  add_to(together, base.together);
}

}  // namespace goodside::trace
