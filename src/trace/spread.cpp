#include "trace/spread.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>
#include <string_view>
#include <unordered_map>

#include "base/in_parallel.hpp"
#include "trace/crossed_effects.hpp"
#include "trace/spread_sources.hpp"

namespace goodside::trace {
namespace {

constexpr double stands_out = 2.0;
constexpr std::size_t most_levels = 8;
constexpr std::array all_sources{SourceKind::stamper,
                                 SourceKind::mounting,
                                 SourceKind::press,
                                 SourceKind::batch,
                                 SourceKind::recipe,
                                 SourceKind::shift};
constexpr std::array turning_sources{SourceKind::stamper, SourceKind::mounting, SourceKind::press};

/// What was heard of each disc of the family, in the family's order.
class ByDisc {
 public:
  ByDisc(const works::Family& family, works::DiscSide side, std::span<const works::HeardPlay> heard)
      : family_{family}, plays_(family.discs.size()) {
    std::unordered_map<std::string_view, std::size_t> numbers;
    for (std::size_t i = 0; i < family.discs.size(); ++i) numbers.emplace(family.discs[i].id, i);
    for (const auto& play : heard)
      if (const auto known = numbers.find(play.disc); known != numbers.end() && play.side == side)
        plays_[known->second].push_back(&play);
  }

  struct Values {
    std::vector<const works::FamilyDisc*> discs;
    std::vector<double> values;
  };

  [[nodiscard]] Values of(works::SideMeasure measure) const {
    Values result;
    for (std::size_t i = 0; i < plays_.size(); ++i) {
      double sum = 0.0, least = HUGE_VAL;
      int count = 0;
      for (const auto* play : plays_[i])
        if (const auto& value = play->measures[measure]; value) {
          sum += *value;
          least = std::min(least, *value);
          ++count;
        }
      if (count == 0) continue;
      result.discs.push_back(&family_.discs[i]);
      result.values.push_back(measure == works::SideMeasure::noise ? least : sum / count);
    }
    return result;
  }

  /// x and y of each disc in turn.
  [[nodiscard]] Values offsets() const {
    Values result;
    for (std::size_t i = 0; i < plays_.size(); ++i) {
      works::HeardOffset sum;
      int count = 0;
      for (const auto* play : plays_[i])
        if (play->measures.off_centre) {
          sum.x_m += play->measures.off_centre->x_m;
          sum.y_m += play->measures.off_centre->y_m;
          ++count;
        }
      if (count == 0) continue;
      result.discs.push_back(&family_.discs[i]);
      result.values.push_back(sum.x_m / count);
      result.values.push_back(sum.y_m / count);
    }
    return result;
  }

 private:
  const works::Family& family_;
  std::vector<std::vector<const works::HeardPlay*>> plays_;
};

std::vector<works::SpreadComponent> components(const SpreadSources& sources,
                                               const CrossedFit& fit) {
  std::vector<works::SpreadComponent> result;
  for (std::size_t k = 0; k < fit.variances.size(); ++k) {
    const auto& [value, low, high] = fit.variances[k];
    result.push_back({.source = k < sources.told.size() ? sources.told[k].name : "residual",
                      .variance = value,
                      .low = low,
                      .high = high});
  }
  return result;
}

std::vector<works::SpreadLevel> levels(const SpreadSources& sources, const CrossedFit& fit) {
  std::vector<works::SpreadLevel> result;
  for (std::size_t k = 0; k < sources.told.size(); ++k)
    for (std::size_t j = 0; j < fit.effects[k].size(); ++j) {
      const auto& [value, sigma] = fit.effects[k][j];
      const auto& source = sources.told[k];
      if (!source.ids[j].empty() && sigma > 0.0 && std::abs(value) > stands_out * sigma)
        result.push_back({.source = source.name,
                          .id = source.ids[j],
                          .effect = value,
                          .sigma = sigma,
                          .discs = source.discs[j]});
    }
  std::ranges::stable_sort(result, [](const auto& a, const auto& b) {
    return std::abs(a.effect) / a.sigma > std::abs(b.effect) / b.sigma;
  });
  if (result.size() > most_levels) result.resize(most_levels);
  return result;
}

/// Both axes of a vector share a factor's variance, each level having two.
Factor on_both_axes(const Factor& factor) {
  Factor both{.levels = 2 * factor.levels};
  for (const int level : factor.level) {
    both.level.push_back(2 * level);
    both.level.push_back(2 * level + 1);
  }
  return both;
}

const SpreadSource* find(const SpreadSources& sources, std::string_view name, std::size_t& at) {
  for (at = 0; at < sources.told.size(); ++at)
    if (sources.told[at].name.starts_with(name)) return &sources.told[at];
  return nullptr;
}

std::vector<works::HoleOffsetEstimate> holes(const SpreadSources& sources, const CrossedFit& fit) {
  std::vector<works::HoleOffsetEstimate> result;
  std::size_t k = 0;
  const auto* stampers = find(sources, "stamper", k);
  if (!stampers) return result;
  for (std::size_t j = 0; j < stampers->ids.size(); ++j) {
    if (stampers->ids[j].empty()) continue;
    const auto& x = fit.effects[k][2 * j];
    const auto& y = fit.effects[k][2 * j + 1];
    const double east = fit.fixed[0] + x.value, north = fit.fixed[1] + y.value;
    const double direction = std::atan2(north, east) * 180.0 / std::numbers::pi;
    result.push_back({.id = stampers->ids[j],
                      .size_m = std::hypot(east, north),
                      .direction_deg = direction < 0.0 ? direction + 360.0 : direction,
                      .sigma_m = std::max(x.sigma, y.sigma),
                      .discs = stampers->discs[j]});
  }
  std::ranges::stable_sort(result,
                           [](const auto& a, const auto& b) { return a.size_m > b.size_m; });
  return result;
}

/// A press's mountings, of which the pin's displacement is the size that they share.
std::vector<works::PinOffsetEstimate> pins(const SpreadSources& sources,
                                           const CrossedFit& fit,
                                           std::span<const works::FamilyDisc* const> discs) {
  std::vector<works::PinOffsetEstimate> result;
  std::size_t k = 0;
  const auto* mountings = find(sources, "mounting", k);
  if (!mountings) return result;
  std::map<std::string, std::map<int, int>> of_press;
  for (std::size_t i = 0; i < discs.size(); ++i)
    if (!discs[i]->press.empty()) ++of_press[discs[i]->press][mountings->factor.level[i]];
  for (const auto& [press, levels] : of_press) {
    if (levels.size() < 2) continue;
    works::PinOffsetEstimate pin{.press = press, .mountings = static_cast<int>(levels.size())};
    double squares = 0.0, errors = 0.0;
    for (const auto& [level, count] : levels) {
      const auto& x = fit.effects[k][2 * static_cast<std::size_t>(level)];
      const auto& y = fit.effects[k][2 * static_cast<std::size_t>(level) + 1];
      squares += x.value * x.value + y.value * y.value + x.sigma * x.sigma + y.sigma * y.sigma;
      errors += 0.5 * (x.sigma * x.sigma + y.sigma * y.sigma);
      pin.discs += count;
    }
    pin.size_m = std::sqrt(squares / pin.mountings);
    pin.sigma_m = std::sqrt(errors) / pin.mountings;
    result.push_back(pin);
  }
  std::ranges::stable_sort(result,
                           [](const auto& a, const auto& b) { return a.size_m > b.size_m; });
  return result;
}

}  // namespace

std::optional<works::Spread> spread_of(const works::Family& family,
                                       works::DiscSide side,
                                       std::span<const works::HeardPlay> plays,
                                       works::SideMeasure measure) {
  auto heard = ByDisc{family, side, plays}.of(measure);
  const auto& [name, unit] = works::side_measure_names[static_cast<std::size_t>(measure)];
  if (heard.values.size() < static_cast<std::size_t>(fewest_discs)) return std::nullopt;
  SpreadSources sources = spread_sources(heard.discs, side, all_sources);
  CrossedModel model{.values = heard.values,
                     .fixed = {std::vector<double>(heard.values.size(), 1.0)}};
  for (const auto& source : sources.told) model.factors.push_back(source.factor);
  if (model.factors.empty()) return std::nullopt;
  const auto fit = fit_crossed(model, spread_confidence);
  if (!fit) return std::nullopt;
  return works::Spread{.measure = std::string{name},
                       .components = components(sources, *fit),
                       .side = side,
                       .unit = std::string{unit},
                       .mean = fit->fixed[0],
                       .discs = static_cast<int>(heard.discs.size()),
                       .levels = levels(sources, *fit),
                       .not_told = std::move(sources.not_told),
                       .intervals = fit->profiled ? "profile" : "delta"};
}

std::optional<works::OffCentre> off_centre_of(const works::Family& family,
                                              works::DiscSide side,
                                              std::span<const works::HeardPlay> heard) {
  const auto offsets = ByDisc{family, side, heard}.offsets();
  const std::size_t count = offsets.discs.size();
  if (count < static_cast<std::size_t>(fewest_discs)) return std::nullopt;
  SpreadSources sources = spread_sources(offsets.discs, side, turning_sources);
  CrossedModel model{
      .values = offsets.values,
      .fixed = {std::vector<double>(2 * count, 0.0), std::vector<double>(2 * count, 0.0)}};
  for (std::size_t i = 0; i < count; ++i) model.fixed[0][2 * i] = model.fixed[1][2 * i + 1] = 1.0;
  for (const auto& source : sources.told) model.factors.push_back(on_both_axes(source.factor));
  const auto fit = fit_crossed(model, spread_confidence);
  if (!fit) return std::nullopt;
  return works::OffCentre{.side = side,
                          .components = components(sources, *fit),
                          .mean_x_m = fit->fixed[0],
                          .mean_y_m = fit->fixed[1],
                          .discs = static_cast<int>(count),
                          .holes = holes(sources, *fit),
                          .pins = pins(sources, *fit, offsets.discs),
                          .not_told = std::move(sources.not_told)};
}

void tell_spread(const works::Family& family,
                 std::span<const works::HeardPlay> plays,
                 int jobs,
                 works::TraceReport& report) {
  constexpr std::array sides{works::DiscSide::A, works::DiscSide::B};
  constexpr std::size_t tasks = works::side_measure_count + 1;
  std::array<std::optional<works::Spread>, sides.size() * works::side_measure_count> spreads;
  std::array<std::optional<works::OffCentre>, sides.size()> off_centre;
  in_parallel(sides.size() * tasks, jobs, [&](std::size_t i) {
    const std::size_t side = i / tasks, m = i % tasks;
    if (m == works::side_measure_count)
      off_centre[side] = off_centre_of(family, sides[side], plays);
    else
      spreads[side * works::side_measure_count + m] =
          spread_of(family, sides[side], plays, static_cast<works::SideMeasure>(m));
  });
  for (auto& one : spreads)
    if (one) report.spread.push_back(std::move(*one));
  for (auto& one : off_centre)
    if (one) report.off_centre.push_back(std::move(*one));
}

}  // namespace goodside::trace
