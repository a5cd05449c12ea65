#include "cli/trace_summary.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>
#include <vector>

#include "cli/spread_text.hpp"
#include "cli/standing_text.hpp"
#include "cli/wrap.hpp"
#include "draw/trace_words.hpp"
#include "draw/words.hpp"

namespace goodside::cli {
namespace {

using draw::named;
using draw::percent;
using draw::since;
using works::ActKind;
using works::NextAct;
using works::RecurringFault;
using works::TraceReport;

constexpr std::size_t most_faults = 10, most_told = 7, most_refused = 6, most_discs = 3,
                      most_spread = 8;

std::string on_discs(const RecurringFault& fault) {
  std::string text = fmt::format("on {} of {} heard", fault.on.size(), fault.heard);
  for (std::size_t i = 0; i < std::min(most_discs, fault.on.size()); ++i)
    text += (i == 0 ? ": " : ", ") + fault.on[i];
  return text + (fault.on.size() > most_discs ? " …" : "");
}

std::string where(const RecurringFault& fault) {
  std::string text = fmt::format(
      "{} {}", fault.side == works::DiscSide::A ? "A" : "B", draw::clock_tenths(fault.programme_s));
  if (fault.radius_m) text += fmt::format(", {:.0f} mm", *fault.radius_m * 1e3);
  if (fault.angle_deg) text += ", " + draw::degrees(*fault.angle_deg);
  return text;
}

/// The cause; with it those that touched the same discs, which a mark explains at the foot.
std::string cause_text(const RecurringFault& fault) {
  const auto& cause = fault.cause;
  std::string text = named(cause);
  if (cause.same_discs.empty()) {
    text += fmt::format(" {}", percent(cause.posterior));
    if (cause.posterior < 0.95 && !fault.alternatives.empty())
      text += fmt::format(", or {} {}",
                          named(fault.alternatives.front()),
                          percent(fault.alternatives.front().posterior));
  } else {
    for (const auto& same : cause.same_discs) text += fmt::format(" or {}", same);
    text += fmt::format(" {}*", percent(cause.posterior_with_same));
  }
  const std::string when = since(cause);
  return when.empty() ? text : text + ", " + when;
}

std::string which(const NextAct& act) {
  std::string text;
  if (!act.disc.empty()) text = act.disc;
  if (!act.carton.empty()) text += (text.empty() ? "one of carton " : ", carton ") + act.carton;
  if (!act.spindle.empty()) text += (text.empty() ? "one of spindle " : ", spindle ") + act.spindle;
  if (act.disc.empty() && act.impression && act.impression->first == act.impression->last)
    text += fmt::format(", impression {}", act.impression->first);
  return text;
}

std::string act_text(const NextAct& act) {
  std::string text;
  switch (act.act) {
    case ActKind::hear:
      text = "hear the whole of " + which(act);
      break;
    case ActKind::spot_hear:
      text = "spot-hear " + which(act);
      break;
    case ActKind::microscope:
      text = "microscope on stamper " + act.part;
      break;
    case ActKind::play_mother:
      text = "play mother " + act.part;
      break;
    case ActKind::look_at_father:
      text = "look at father " + act.part;
      break;
  }
  return text + fmt::format(", {:.0f} min", act.minutes);
}

/// Which impressions, and what becomes of the discs.
std::string stock_text(const RecurringFault& fault) {
  constexpr std::size_t most = 4;
  const auto& stock = fault.suspect;
  const auto remedy =
      fault.action.stock.empty() ? works::StockRemedy::inspect : fault.action.stock.front().remedy;
  if (remedy == works::StockRemedy::ship)
    return fmt::format("let it go: about {:.0f} of {} suspect discs have it, which costs least",
                       stock.flawed,
                       stock.discs);
  std::string text = "hold impressions ";
  for (std::size_t i = 0; i < std::min(most, stock.impressions.size()); ++i)
    text += fmt::format(
        "{}{}-{}", i == 0 ? "" : ", ", stock.impressions[i].first, stock.impressions[i].last);
  if (stock.impressions.size() > most) text += " …";
  text += fmt::format(" ({} discs", stock.discs);
  if (!stock.cartons.empty())
    text +=
        fmt::format(", {} carton{}", stock.cartons.size(), stock.cartons.size() == 1 ? "" : "s");
  return text + (remedy == works::StockRemedy::scrap ? "), then scrap them"
                                                     : "), then spot-hear and sort them");
}

/// What to do with the metal: the action's words before those on the stock.
std::string remedy_text(const RecurringFault& fault) {
  return fault.action.text.substr(0, fault.action.text.rfind("; "));
}

std::string what(const RecurringFault& fault) {
  std::string text =
      fmt::format("{} {}",
                  draw::word(fault.audibility),
                  fault.pattern ? draw::word(*fault.pattern) : draw::word(fault.kind));
  if (fault.places > 1) text += fmt::format(" of {} turns", fault.places);
  if (!fault.open) text += " (gone)";
  return text;
}

void put_fault(std::string& out, const RecurringFault& fault, bool brief) {
  put(out,
      fmt::format("{}, {}: {}", what(fault), where(fault), cause_text(fault)),
      fmt::format("{:>3}  ", fault.id),
      "     ");
  if (brief) return;
  put(out, on_discs(fault), "     ", "     ");
  if (!fault.next.empty()) {
    std::string text = act_text(fault.next.front());
    if (fault.hearings_needed >= 0.5)
      text += fmt::format("; about {:.0f} more hearings place the onset", fault.hearings_needed);
    put(out, text, "     fetch  ", "            ");
  }
  put(out, remedy_text(fault), "     do     ", "            ");
  put(out, stock_text(fault), "     stock  ", "            ");
}

void put_faults(std::string& out, const TraceReport& trace) {
  const std::size_t shown = std::min(most_faults, trace.recurring.size());
  for (std::size_t i = 0; i < shown; ++i) {
    if (i <= most_told) out += '\n';
    put_fault(out, trace.recurring[i], i >= most_told);
  }
  if (std::ranges::any_of(trace.recurring,
                          [](const auto& fault) { return !fault.cause.same_discs.empty(); }))
    put(out, "these touched the same discs: no hearing tells them apart", "\n  *  ", "     ");
  if (trace.recurring.size() > shown)
    out += fmt::format("\n     and {} more; --json has them all\n", trace.recurring.size() - shown);
}

void put_spread(std::string& out, const TraceReport& trace) {
  const auto lines = spread_lines(trace);
  if (lines.empty()) return;
  out += "\nWithout a place in the groove:\n";
  for (std::size_t i = 0; i < std::min(most_spread, lines.size()); ++i)
    put(out, lines[i], "  - ", "    ");
  if (lines.size() > most_spread)
    out += fmt::format("  - and {} more; --json has them all\n", lines.size() - most_spread);
}

void put_refused(std::string& out, const TraceReport& trace) {
  if (trace.refused.empty()) return;
  out += fmt::format("\nPut aside ({}), the rest is traced:\n", trace.refused.size());
  for (std::size_t i = 0; i < std::min(most_refused, trace.refused.size()); ++i)
    put(out, trace.refused[i].what + ": " + trace.refused[i].why, "  - ", "    ");
  if (trace.refused.size() > most_refused)
    out +=
        fmt::format("  - and {} more; --json has them all\n", trace.refused.size() - most_refused);
}

void put_cautions(std::string& out, const TraceReport& trace) {
  std::vector<std::string> told;
  const auto tell = [&](const std::string& caution) {
    if (caution.empty() || std::ranges::find(told, caution) != told.end()) return;
    told.push_back(caution);
    put(out, caution, "Caution: ", "         ");
  };
  for (const auto& fault : trace.recurring)
    if (fault.open) tell(fault.action.caution);
  if (!trace.next.empty()) tell(trace.next.front().caution);
  for (const auto& fault : trace.recurring)
    if (fault.open && !fault.next.empty()) tell(fault.next.front().caution);
}

std::string counted(std::size_t n, std::string_view thing) {
  return fmt::format("{} {}{}", n, thing, n == 1 ? "" : "s");
}

}  // namespace

std::string trace_summary(const TraceReport& trace, bool colour) {
  const auto open = static_cast<std::size_t>(
      std::ranges::count_if(trace.recurring, [](const auto& fault) { return fault.open; }));
  const auto standing = open > 0 ? draw::Standing::out : draw::Standing::good;
  const std::string head = fmt::format(
      "{} {}",
      shape(standing),
      open > 0 ? counted(open, "open recurring fault") : std::string{"No open recurring fault"});
  std::string out = coloured(standing, head, colour) +
                    fmt::format("  {} heard, {} in all\n",
                                counted(static_cast<std::size_t>(trace.discs_heard), "disc"),
                                counted(static_cast<std::size_t>(trace.faults), "fault"));
  put_faults(out, trace);
  put_spread(out, trace);
  put_refused(out, trace);
  for (const auto& remark : trace.remarks) put(out, remark, "  remark  ", "          ");
  out += '\n';
  put_cautions(out, trace);
  if (open == 0)
    out += "Next: go on hearing samples; trace again when one has a fault.\n";
  else if (!trace.next.empty())
    put(out,
        fmt::format("{} ({}).", act_text(trace.next.front()), trace.next.front().where),
        "Next: ",
        "      ");
  else
    put(out, trace.recurring.front().action.text + ".", "Next: ", "      ");
  return out;
}

}  // namespace goodside::cli
