#include "cli/spread_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string_view>

namespace goodside::cli {
namespace {

using works::SpreadComponent;

constexpr double vanishing = 1e-3;       // of the whole spread
constexpr double sure = 3.0;             // in sigmas
constexpr double least_offset_m = 3e-5;  // smaller ones nobody hears
constexpr std::size_t most_named = 2;

double whole(const std::vector<SpreadComponent>& components) {
  double sum = 0.0;
  for (const auto& one : components) sum += one.variance;
  return sum;
}

bool is_sure(const SpreadComponent& one, double all) {
  return one.source != "residual" && one.low > vanishing * all;
}

char letter(works::DiscSide side) {
  return side == works::DiscSide::A ? 'A' : 'B';
}

std::string plural(const std::string& source) {
  return source + (source.ends_with("s") || source.ends_with("ch") ? "es" : "s");
}

/// An effect in what a hand can count: arcs where the measure is their root, else the unit itself.
std::string effect(const works::Spread& spread, const works::SpreadLevel& level) {
  if (spread.measure == "non-fill") {
    const double arcs = std::pow(spread.mean + level.effect, 2) - std::pow(spread.mean, 2);
    return fmt::format("{} {:+.1f} arcs a side", level.id, arcs);
  }
  return fmt::format("{} {:+.2g} {} (± {:.1g})", level.id, level.effect, spread.unit, level.sigma);
}

void add(const works::Spread& spread, std::vector<std::string>& lines) {
  const double all = whole(spread.components);
  for (const auto& one : spread.components) {
    if (!is_sure(one, all)) continue;
    std::string text =
        fmt::format("{}, side {}: {} make {:.0f} % of the spread",
                    spread.measure,
                    letter(spread.side),
                    one.source.find(" or ") == std::string::npos ? plural(one.source) : one.source,
                    100.0 * one.variance / all);
    std::size_t named = 0;
    for (const auto& level : spread.levels)
      if (level.source == one.source && named < most_named)
        text += (named++ == 0 ? "; " : ", ") + effect(spread, level);
    if (named > 0) text += " against the mean";
    lines.push_back(std::move(text));
  }
}

void add(const works::OffCentre& off, std::vector<std::string>& lines) {
  const auto stands_out = [](double size_m, double sigma_m) {
    return size_m > sure * sigma_m && size_m > least_offset_m;
  };
  const double all = whole(off.components);
  const auto differ = [&](std::string_view source) {
    return std::ranges::any_of(off.components, [&](const auto& one) {
      return one.source.starts_with(source) && is_sure(one, all);
    });
  };
  const bool holes = differ("stamper"), pins = differ("mounting");
  std::size_t named = 0, more = 0;
  for (const auto& hole : off.holes) {
    if (!holes || !stands_out(hole.size_m, hole.sigma_m)) continue;
    if (named == most_named) {
      ++more;
      continue;
    }
    ++named;
    lines.push_back(fmt::format(
        "off-centre, side {}: the hole of stamper {} is {:.2f} mm off (± {:.2f}), towards {:.0f}° "
        "on all of its {} discs however it was mounted: punch it anew",
        letter(off.side),
        hole.id,
        hole.size_m * 1e3,
        hole.sigma_m * 1e3,
        hole.direction_deg,
        hole.discs));
  }
  for (const auto& one : off.components)
    if (one.source.starts_with("stamper or ") && is_sure(one, all))
      lines.push_back(fmt::format(
          "off-centre, side {}: {} differ, and these discs cannot tell the stamper's hole from the "
          "press's pin: mount a stamper again and hear two discs of it",
          letter(off.side),
          one.source));
  if (more > 0)
    lines.push_back(
        fmt::format("off-centre, side {}: the holes of {} more stampers; --json has them",
                    letter(off.side),
                    more));
  for (const auto& pin : off.pins)
    if (pins && stands_out(pin.size_m, pin.sigma_m))
      lines.push_back(fmt::format(
          "off-centre, side {}: the pin of press {} is {:.2f} mm off (± {:.2f}), another way with "
          "each of its {} mountings: check pin and clamp, not the stampers",
          letter(off.side),
          pin.press,
          pin.size_m * 1e3,
          pin.sigma_m * 1e3,
          pin.mountings));
}

}  // namespace

std::vector<std::string> spread_lines(const works::TraceReport& trace) {
  std::vector<std::string> lines;
  for (const auto& one : trace.spread) add(one, lines);
  for (const auto& one : trace.off_centre) add(one, lines);
  return lines;
}

}  // namespace goodside::cli
