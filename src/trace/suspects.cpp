#include "trace/suspects.hpp"

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>
#include <vector>

namespace goodside::trace {
namespace {

constexpr double suspect = 0.05;

struct Ranges {
  std::vector<works::Impressions> all;
  std::vector<std::pair<std::int64_t, double>> steps;  ///< where a probability begins (+) and ends

  void add(std::int64_t first, std::int64_t last, double probability) {
    if (last < first) return;
    steps.emplace_back(first, probability);
    steps.emplace_back(last + 1, -probability);
    if (probability >= suspect) all.push_back({first, last});
  }
  /// Expected number of flawed discs. Where it is not known which of two stampers pressed an
  /// impression both are counted, but no disc is flawed more than once.
  [[nodiscard]] double flawed() {
    std::sort(steps.begin(), steps.end());
    double sum = 0.0, here = 0.0;
    for (std::size_t i = 0; i < steps.size(); ++i) {
      here += steps[i].second;
      if (i + 1 < steps.size())
        sum +=
            std::clamp(here, 0.0, 1.0) * static_cast<double>(steps[i + 1].first - steps[i].first);
    }
    return sum;
  }
  void join() {
    std::sort(all.begin(), all.end());
    std::vector<works::Impressions> out;
    for (const auto& range : all)
      if (!out.empty() && range.first <= out.back().last + 1)
        out.back().last = std::max(out.back().last, range.last);
      else
        out.push_back(range);
    all = std::move(out);
  }
  [[nodiscard]] bool meets(const works::Impressions& range) const {
    const auto next = std::lower_bound(
        all.begin(), all.end(), range.first, [](const works::Impressions& one, std::int64_t at) {
          return one.last < at;
        });
    return next != all.end() && next->meets(range);
  }
};

/// One unit's stretch in pieces between which the probability hardly changes.
void add_stretch(
    const Touched& touched, int unit, const Segment& run, double through_parents, Ranges& ranges) {
  constexpr std::int64_t most_pieces = 200;
  const std::int64_t width = run.latest - run.earliest + 1;
  const std::int64_t pieces = std::min(width, most_pieces);
  for (std::int64_t i = 0; i < pieces; ++i) {
    const std::int64_t low = run.earliest + width * i / pieces;
    const std::int64_t high = run.earliest + width * (i + 1) / pieces - 1;
    ranges.add(
        low, high, std::min(1.0, through_parents + touched.of_unit(unit, low + (high - low) / 2)));
  }
}

}  // namespace

works::SuspectStock suspects(const works::Family& family,
                             const FamilyIndex& index,
                             const Attribution& why,
                             const Touched& touched) {
  Ranges ranges;
  for (int u = 0; u < index.stampers; ++u) {
    const bool named = std::ranges::any_of(why.causes, [&](const Weighed& cause) {
      return cause.level == Level::stamper && cause.number == u;
    });
    const double parents = touched.through_parents(u);
    if (!named && parents < 1e-4) continue;
    for (const Segment& run : index.units[static_cast<std::size_t>(u)].segments)
      if (named)
        add_stretch(touched, u, run, parents, ranges);
      else
        ranges.add(run.earliest, run.latest, parents);
  }
  for (const Weighed& cause : why.causes)
    if (cause.level > Level::stamper)
      for (const Segment& run : index.units[static_cast<std::size_t>(cause.number)].segments)
        add_stretch(touched, cause.number, run, 0.0, ranges);
  ranges.join();

  works::SuspectStock stock{.impressions = ranges.all,
                            .discs = 0,
                            .flawed = ranges.flawed(),
                            .cartons = {},
                            .spindles = {}};
  for (const auto& range : stock.impressions) stock.discs += range.width();
  std::set<std::string> cartons, spindles;
  const auto take = [&](const std::string& carton, const std::string& spindle) {
    if (!carton.empty()) cartons.insert(carton);
    if (!spindle.empty()) spindles.insert(spindle);
  };
  for (const auto& disc : family.discs)
    if (disc.impression && ranges.meets(*disc.impression)) take(disc.carton, disc.spindle);
  for (const auto& lot : family.stock)
    if (ranges.meets(lot.impressions)) take(lot.carton, lot.spindle);
  stock.cartons.assign(cartons.begin(), cartons.end());
  stock.spindles.assign(spindles.begin(), spindles.end());
  return stock;
}

}  // namespace goodside::trace
