#include "cli/plays_summary.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>
#include <vector>

#include "cli/standing_text.hpp"
#include "cli/wrap.hpp"
#include "draw/words.hpp"

namespace goodside::cli {
namespace {

using draw::Standing;
using works::DiscPlays;
using works::FaultPlace;
using works::Owner;
using works::Showing;

constexpr std::size_t most_places = 10, most_reasons = 6;

std::string_view word(works::After after) {
  switch (after) {
    case works::After::as_found:
      return "as found";
    case works::After::brushed:
      return "brushed";
    case works::After::washed:
      return "washed";
    case works::After::reseated:
      return "reseated";
  }
  return "";
}

std::string percent(double share) {
  // Never certain: nothing here is known to more than a part in a thousand.
  if (share > 0.999) return "over 99.9 %";
  return fmt::format("{:.{}f} %", share * 1e2, share > 0.99 ? 1 : 0);
}

std::string whose(const FaultPlace& place) {
  switch (place.owner) {
    case Owner::disc:
      return "disc, " + percent(place.disc_probability);
    case Owner::dust:
      return "dust, " + percent(1.0 - place.disc_probability);
    case Owner::undecided:
      break;
  }
  return "undecided, disc " + percent(place.disc_probability);
}

std::string showing(const FaultPlace& place) {
  std::string text;
  for (const Showing one : place.plays) {
    if (!text.empty()) text += ' ';
    text += one == Showing::found ? 'x' : one == Showing::missed ? '-' : '.';
  }
  return text;
}

std::ptrdiff_t count(const DiscPlays& plays, Owner owner) {
  return std::ranges::count(plays.places, owner, &FaultPlace::owner);
}

/// The disc's own first, then the undecided, then dust; the worst of each first.
std::vector<std::size_t> in_order(const DiscPlays& plays) {
  std::vector<works::FaultEvent> faults;
  for (const auto& place : plays.places) faults.push_back(place.fault);
  auto order = draw::worst_first(faults);
  const auto rank = [&](std::size_t i) {
    const Owner owner = plays.places[i].owner;
    return owner == Owner::disc ? 0 : owner == Owner::undecided ? 1 : 2;
  };
  std::ranges::stable_sort(order, {}, rank);
  return order;
}

void put_places(std::string& out, const DiscPlays& plays) {
  const std::size_t all = plays.places.size(), shown = std::min(all, most_places);
  if (all == 0) return;
  out += fmt::format("\n{} place{}: {} of the disc, {} dust, {} undecided{}\n",
                     all,
                     all == 1 ? "" : "s",
                     count(plays, Owner::disc),
                     count(plays, Owner::dust),
                     count(plays, Owner::undecided),
                     all > shown ? fmt::format("; {} of them", shown) : "");
  std::string numbers;
  for (std::size_t p = 0; p < plays.plays.size(); ++p)
    numbers += fmt::format("{}{}", p == 0 ? "" : " ", (p + 1) % 10);
  out += fmt::format("{:>4}  {:>10}  {:>9}  {:>5}  {:<7}  {:<6}  {}  {}\n",
                     "",
                     "time",
                     "radius",
                     "angle",
                     "kind",
                     "heard",
                     numbers,
                     "whose");
  const auto order = in_order(plays);
  for (std::size_t i = 0; i < shown; ++i) {
    const auto& place = plays.places[order[i]];
    const auto& fault = place.fault;
    out += fmt::format("{:>4}  {:>10}  {:>9}  {:>5}  {:<7}  {:<6}  {}  {}\n",
                       i + 1,
                       draw::clock_ms(fault.programme_s.value_or(0.0)),
                       fault.radius_m ? fmt::format("{:.1f} mm", *fault.radius_m * 1e3) : "-",
                       fault.angle_deg ? draw::degrees(*fault.angle_deg) : "-",
                       draw::word(fault.kind),
                       draw::word(fault.audibility),
                       showing(place),
                       whose(place));
  }
  std::string key;
  for (std::size_t p = 0; p < plays.plays.size(); ++p)
    key += fmt::format("{}{} {}", p == 0 ? "" : ", ", p + 1, word(plays.plays[p].after));
  put(out, key + "; x found, - missed, . not heard", "      plays ", "            ");
}

std::string hole(const works::HoleOffset& hole) {
  if (!hole.eccentricity_m) return "not determined";
  std::string text = fmt::format("{:.3f} ± {:.3f} mm",
                                 *hole.eccentricity_m * 1e3,
                                 hole.eccentricity_sigma_m.value_or(0.0) * 1e3);
  if (hole.eccentricity_direction_deg)
    text += " towards " + draw::degrees(*hole.eccentricity_direction_deg);
  if (hole.seatings == 1) return text + ", one seating: not told from the spindle's play";
  return text + fmt::format(", the mean of {} seatings", hole.seatings);
}

std::string seating(const works::HoleOffset& hole) {
  if (hole.seating_spread_m)
    return fmt::format("moves the disc {:.3f} mm (1 sigma, each way)",
                       *hole.seating_spread_m * 1e3);
  return "moves the disc no more than the measuring error";
}

void put_measures(std::string& out, const DiscPlays& plays) {
  const auto measure = [&](const char* name, const std::string& text) {
    put(out, text, fmt::format("  {:<8}", name), std::string(10, ' '));
  };
  out += '\n';
  measure("hole", hole(plays.hole));
  if (plays.hole.seatings > 1) measure("seating", seating(plays.hole));
  measure("finds",
          fmt::format("plain {}, slight {} of what is there ({} and {} second looks)",
                      percent(plays.detection.plain),
                      percent(plays.detection.slight),
                      plays.detection.plain_trials,
                      plays.detection.slight_trials));
  measure("limits", plays.verdict.limits);
  for (const auto& remark : plays.remarks) measure("remark", remark);
}

bool broke(const DiscPlays& plays, std::string_view rule) {
  return std::ranges::any_of(plays.verdict.reasons,
                             [&](const auto& reason) { return reason.rule == rule; });
}

std::string next_act(const DiscPlays& plays) {
  const auto undecided = count(plays, Owner::undecided);
  const std::string again =
      undecided == 1 ? "1 place is undecided" : fmt::format("{} places are undecided", undecided);
  if (plays.verdict.pass) {
    if (undecided > 0) return "wash the disc and play it once more: " + again;
    if (count(plays, Owner::dust) > 0)
      return "clean, the disc is within limits; look where the dust came from: sleeve, bench, or "
             "press";
    return "nothing to do for this side; hear the next sample when it is due";
  }
  if (broke(plays, "eccentricity_m") && plays.hole.seatings < 2)
    return "reseat the disc and play it again, to tell its hole from its seat";
  if (broke(plays, "eccentricity_m")) return "check the centring of the stamper and the punch";
  const auto order = in_order(plays);
  if (!order.empty() && plays.places[order.front()].owner == Owner::disc) {
    const auto& fault = plays.places[order.front()].fault;
    return fmt::format(
        "hear a sister disc of the same stamper at {}: what recurs there is the "
        "metal's",
        draw::clock_ms(fault.programme_s.value_or(0.0)));
  }
  if (undecided > 0) return "wash the disc and play it once more: " + again;
  return "hear it once more on another bench before the stock is held";
}

}  // namespace

std::string plays_summary(const DiscPlays& plays, bool colour) {
  const Standing stands = plays.verdict.pass ? Standing::good : Standing::out;
  const std::string verdict = fmt::format("{} {}", shape(stands), draw::word(stands));
  std::string rest = fmt::format("  {} plays of one disc", plays.plays.size());
  if (plays.reference) rest += " against " + draw::file_name(plays.reference->file.path);
  rest += ", " + plays.geometry.format;
  std::string out =
      coloured(stands, verdict, colour) + clipped(rest, line_width - columns(verdict)) + "\n";
  const auto& reasons = plays.verdict.reasons;
  for (std::size_t i = 0; i < std::min(most_reasons, reasons.size()); ++i)
    put(out, reasons[i].text, "  - ", "    ");
  if (reasons.size() > most_reasons)
    out += fmt::format("  - and {} more\n", reasons.size() - most_reasons);
  put_places(out, plays);
  put_measures(out, plays);
  out += '\n';
  put(out, next_act(plays) + ".", "Next: ", "      ");
  return out;
}

}  // namespace goodside::cli
