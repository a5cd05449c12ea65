#include <fmt/format.h>

#include <algorithm>

#include "cli/summary.hpp"
#include "cli/wrap.hpp"
#include "draw/words.hpp"

namespace goodside::cli {
namespace {

using draw::Standing;

constexpr std::size_t name_width = 24;

std::string padded(const std::string& text, std::size_t width) {
  const std::string kept = clipped(text, width);
  return kept + std::string(width - columns(kept), ' ');
}

/// The sentence without the name that stands before it, wrapped under the verdicts.
std::string unusable_row(const std::string& name, const HeardOne& one) {
  std::string why = one.report.error().text;
  if (why.starts_with(one.path)) why.erase(0, why.find_first_not_of(": ", one.path.size()));
  const auto lines = wrapped("■ cannot be used: " + why, line_width - name_width - 4);
  std::string out = name + "  " + lines.front() + "\n";
  for (std::size_t i = 1; i < lines.size(); ++i)
    out.append(name_width + 4, ' ').append(lines[i]).append("\n");
  return out;
}

std::string row(const HeardOne& one) {
  const std::string name = padded(draw::file_name(one.path), name_width);
  if (!one.report) return unusable_row(name, one);
  const auto& report = *one.report;
  const Standing stands = draw::standing(report);
  std::string worst = "-", offset = "-";
  if (stands == Standing::not_this_cut)
    return fmt::format("{}  ▲ not this cut: check ticket and matrix number\n", name);
  if (!report.faults.empty()) {
    const auto& fault = report.faults[draw::worst_first(report.faults).front()];
    worst = fmt::format("{} {}",
                        draw::word(fault.kind),
                        draw::clock_ms(fault.programme_s.value_or(fault.capture_s)));
  }
  if (report.wow.eccentricity_m) offset = fmt::format("{:.3f}", *report.wow.eccentricity_m * 1e3);
  const auto plain =
      std::count_if(report.faults.begin(), report.faults.end(), [](const auto& fault) {
        return fault.audibility == works::Audibility::plain;
      });
  return fmt::format("{}  {}  {:>5}  {:>6}  {:>9}  {}\n",
                     name,
                     stands == Standing::good ? "● within " : "▲ outside",
                     plain,
                     static_cast<std::ptrdiff_t>(report.faults.size()) - plain,
                     offset,
                     worst);
}

std::string next_of(const std::vector<HeardOne>& all) {
  const auto worst = std::find_if(all.begin(), all.end(), [](const HeardOne& one) {
    return one.report && !one.report->verdict.pass;
  });
  if (worst != all.end())
    return fmt::format("{}: {}", draw::file_name(worst->path), next_act(*worst->report));
  const auto unusable =
      std::find_if(all.begin(), all.end(), [](const HeardOne& one) { return !one.report; });
  if (unusable != all.end())
    return fmt::format("capture {} again", draw::file_name(unusable->path));
  return "nothing to do for these sides; hear the next sample when it is due";
}

}  // namespace

std::string table(const std::vector<HeardOne>& all, bool colour) {
  std::size_t within = 0, outside = 0;
  for (const HeardOne& one : all)
    if (one.report) ++(one.report->verdict.pass ? within : outside);
  std::string counts =
      fmt::format("{} heard: {} within limits, {} outside", within + outside, within, outside);
  if (const auto unusable = all.size() - within - outside; unusable > 0)
    counts += fmt::format("; {} cannot be used", unusable);
  std::string out = (colour ? "\x1b[1m" + counts + "\x1b[0m" : counts) + "\n\n";
  out += fmt::format("{}  {}  {:>5}  {:>6}  {:>9}  {}\n",
                     padded("capture", name_width),
                     "verdict  ",
                     "plain",
                     "slight",
                     "offset mm",
                     "worst fault");
  for (const HeardOne& one : all) out += row(one);
  out += '\n';
  const auto lines = wrapped(next_of(all) + ".", line_width - 6);
  for (std::size_t i = 0; i < lines.size(); ++i)
    out.append(i == 0 ? "Next: " : "      ").append(lines[i]).append("\n");
  return out;
}

}  // namespace goodside::cli
