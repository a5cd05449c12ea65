#include "cli/life_summary.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/wrap.hpp"
#include "draw/words.hpp"

namespace goodside::cli {
namespace {

using draw::closings;
using works::BoundedFigure;
using works::LifeGroup;

constexpr int fewest_ends = 3, trusted_ends = 10;
constexpr std::size_t most_remarks = 8;
constexpr double differs = 0.05;

std::string bounds(const BoundedFigure& one) {
  if (one.low && one.high) return fmt::format("{} to {}", closings(*one.low), closings(*one.high));
  if (one.low) return fmt::format("{} or more", closings(*one.low));
  return one.high ? fmt::format("up to {}", closings(*one.high)) : std::string{"not told"};
}

std::string counted(int n, std::string_view thing) {
  return fmt::format("{} {}{}", n, thing, n == 1 ? "" : "s");
}

std::string_view name(const works::CauseLife& life) {
  return life.cause ? word(*life.cause) : std::string_view{"any cause"};
}

const works::LifeLawPoint* at_share(const LifeGroup& group, double share) {
  const auto near = std::ranges::min_element(
      group.law, {}, [&](const auto& point) { return std::abs(point.share - share); });
  return near == group.law.end() ? nullptr : &*near;
}

std::string first_line(const LifeGroup& all) {
  if (all.ended == 0) return "Too few lives: no stamper has ended yet, and none tells when to pull";
  if (all.ended < fewest_ends)
    return fmt::format("Too few lives: {} ended; {} or more tell when to pull",
                       counted(all.ended, "stamper"),
                       fewest_ends);
  if (!all.pull) return "No pull limit can be told yet";
  if (!all.pull->closings) return "Pulling early does not pay: use each stamper until it fails";
  return fmt::format("Pull at {} closings", closings(*all.pull->closings));
}

void put_pull(std::string& out, const LifeGroup& all) {
  if (!all.pull || all.ended < fewest_ends) return;
  const auto& pull = *all.pull;
  if (pull.closings && pull.low_closings)
    put(out,
        fmt::format(
            "any limit from {} to {} costs within 1 % of it; {:.3f} a disc, without a limit "
            "{:.3f}",
            closings(*pull.low_closings),
            pull.high_closings ? closings(*pull.high_closings) : "never",
            pull.cost_per_disc,
            pull.cost_per_disc_unpulled),
        "  ",
        "  ");
}

void put_lives(std::string& out, const LifeGroup& all) {
  out += fmt::format("  {}, {} ended, {} still good or withdrawn good\n",
                     counted(all.stampers, "stamper"),
                     all.ended,
                     all.stampers - all.ended);
  if (const auto* half = at_share(all, 0.5); half != nullptr && all.ended >= fewest_ends)
    put(out,
        fmt::format("half outlive {} closings (95 %: {}); one in eight is gone by {}",
                    closings(half->closings.value),
                    bounds(half->closings),
                    closings(at_share(all, 0.12)->closings.value)),
        "  ",
        "  ");
}

void put_causes(std::string& out, const LifeGroup& all) {
  for (const auto& cause : all.causes) {
    const std::string label = fmt::format(
        "  {:<10}{:>3} {}  ", name(cause), cause.ends, cause.ends == 1 ? "end " : "ends");
    std::string text;
    if (cause.shape_assumed)
      text += "too few to say whether age matters; an even risk is assumed";
    else if (cause.shape.low && *cause.shape.low > 1.0)
      text += fmt::format("the risk grows with age; one in ten by {} ({})",
                          closings(cause.tenth_closings.value),
                          bounds(cause.tenth_closings));
    else if (cause.shape.high && *cause.shape.high < 1.0)
      text += "the risk falls with age: young ones fail; look at how they are made";
    else
      text += fmt::format("whether age matters is not told yet; one in ten by {} ({})",
                          closings(cause.tenth_closings.value),
                          bounds(cause.tenth_closings));
    put(out, text, label, std::string(label.size(), ' '));
  }
}

std::string chance(double value) {
  return value < 0.001 ? "under 0.1 %" : fmt::format("{:.2g} %", 100.0 * value);
}

void put_groups(std::string& out, const works::LifeReport& report) {
  for (const auto& test : report.tests) {
    std::string text = fmt::format("by {}: ", test.by);
    text += test.chance < differs
                ? fmt::format("they differ (by chance alone: {})", chance(test.chance))
                : fmt::format("no difference shows (so much by chance: {})", chance(test.chance));
    for (const auto& group : report.groups)
      if (group.by == test.by) {
        text += fmt::format("; {}: {} of {} ended", group.value, group.ended, group.stampers);
        if (group.pull && group.pull->closings)
          text += fmt::format(", pull at {}", closings(*group.pull->closings));
      }
    put(out, text, "  ", "    ");
  }
}

}  // namespace

std::string life_summary(const works::LifeReport& report) {
  const auto all = std::ranges::find(report.groups, std::string{"all"}, &LifeGroup::by);
  if (all == report.groups.end()) return "No lives are known\n";
  std::string out = first_line(*all) + "\n";
  put_pull(out, *all);
  put_lives(out, *all);
  put_causes(out, *all);
  put_groups(out, report);
  // Of groups that are too small there may be many; --json has them.
  for (const auto& one : report.undetermined)
    if (one.field.ends_with(" of all"))
      put(out, one.field + ": " + one.why, "  not told: ", "    ");
  for (std::size_t i = 0; i < std::min(most_remarks, report.remarks.size()); ++i)
    put(out, report.remarks[i], "  remark: ", "    ");
  if (report.remarks.size() > most_remarks)
    out += fmt::format("  and {} more remarks; --json has them all\n",
                       report.remarks.size() - most_remarks);
  if (all->ended < trusted_ends)
    put(out,
        fmt::format("{} are few: take this as a hint, not as a rule.", counted(all->ended, "end")),
        "  ",
        "  ");
  out += '\n';
  put(out,
      "A stamper is changed on a press that is stopped, locked off and cool; its edge cuts. Your "
      "own "
      "works' rules and local codes come first.",
      "Caution: ",
      "         ");
  put(out,
      all->ended < fewest_ends
          ? "go on hearing samples of every stamper, and enter why each is withdrawn."
          : "hear each stamper all the same: one that shows a fault is pulled then, at any age.",
      "Next: ",
      "      ");
  return out;
}

}  // namespace goodside::cli
