#include "cli/summary.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "cli/standing_text.hpp"
#include "cli/wrap.hpp"
#include "draw/words.hpp"

namespace goodside::cli {
namespace {

using draw::Standing;
using works::ListeningReport;

constexpr std::size_t most_faults = 10, most_reasons = 6;

std::string headline(const ListeningReport& report, bool colour) {
  const Standing stands = draw::standing(report);
  const std::string verdict = fmt::format("{} {}", shape(stands), draw::word(stands));
  std::string rest = "  " + draw::file_name(report.capture.path);
  if (report.reference) rest += " against " + draw::file_name(report.reference->file.path);
  rest += ", " + report.geometry.format;
  return coloured(stands, verdict, colour) + clipped(rest, line_width - columns(verdict)) + "\n";
}

std::size_t count(const ListeningReport& report, works::Audibility audibility) {
  return static_cast<std::size_t>(
      std::count_if(report.faults.begin(), report.faults.end(), [&](const auto& fault) {
        return fault.audibility == audibility;
      }));
}

void put_reasons(std::string& out, const ListeningReport& report) {
  const auto& reasons = report.verdict.reasons;
  for (std::size_t i = 0; i < std::min(most_reasons, reasons.size()); ++i)
    put(out, reasons[i].text, "  - ", "    ");
  if (reasons.size() > most_reasons)
    out += fmt::format("  - and {} more\n", reasons.size() - most_reasons);
}

void put_faults(std::string& out, const ListeningReport& report) {
  const std::size_t all = report.faults.size(), shown = std::min(most_faults, all);
  if (all == 0) return;
  const std::string worst = all > shown ? fmt::format(", the {} worst", shown) : "";
  if (report.reference || report.alignment)
    out += fmt::format("\n{} plain and {} slight faults{}:\n",
                       count(report, works::Audibility::plain),
                       count(report, works::Audibility::slight),
                       worst);
  else
    out += fmt::format(
        "\n{} plain faults at times of the capture, peaks re its full scale{}:\n", all, worst);
  const auto order = draw::worst_first(report.faults);
  out += fmt::format("{:>4}  {:>10}  {:>9}  {:>5}  {:<8} {:>9}  {}\n",
                     "",
                     "time",
                     "radius",
                     "angle",
                     "kind",
                     "peak",
                     "heard");
  for (std::size_t i = 0; i < shown; ++i) {
    const auto& fault = report.faults[order[i]];
    out += fmt::format("{:>4}  {:>10}  {:>9}  {:>5}  {:<8} {:>9}  {}\n",
                       i + 1,
                       draw::clock_ms(fault.programme_s.value_or(fault.capture_s)),
                       fault.radius_m ? fmt::format("{:.1f} mm", *fault.radius_m * 1e3) : "-",
                       fault.angle_deg ? draw::degrees(*fault.angle_deg) : "-",
                       draw::word(fault.kind),
                       fmt::format("{:.1f} dB", fault.peak_dB),
                       draw::word(fault.audibility));
  }
}

std::string torn_place(const ListeningReport& report, const works::Pattern& pattern) {
  std::string text =
      fmt::format("turns {} to {}", pattern.first_revolution, pattern.last_revolution);
  if (pattern.angle_deg && pattern.angle_span_deg)
    text += fmt::format(
        " at {}, {:.0f}° wide", draw::degrees(*pattern.angle_deg), *pattern.angle_span_deg);
  std::size_t left = 0, right = 0;
  for (const auto& fault : report.faults) {
    if (fault.pattern != pattern.id) continue;
    if (fault.channel == works::FaultChannel::left) ++left;
    if (fault.channel == works::FaultChannel::right) ++right;
  }
  if (2 * left > pattern.faults.size()) text += ", left wall";
  if (2 * right > pattern.faults.size()) text += ", right wall";
  return text;
}

/// Places of non-fill, the fullest first, and what of it lies alone.
std::string non_fill(const ListeningReport& report) {
  constexpr std::size_t most_places = 2;
  std::vector<const works::Pattern*> places;
  for (const auto& pattern : report.patterns)
    if (pattern.nature == works::Nature::non_fill) places.push_back(&pattern);
  std::stable_sort(places.begin(), places.end(), [](const auto* a, const auto* b) {
    return a->faults.size() > b->faults.size();
  });
  std::string text;
  for (std::size_t i = 0; i < std::min(most_places, places.size()); ++i)
    text += (i == 0 ? "" : "; ") + torn_place(report, *places[i]);
  if (places.size() > most_places)
    text += fmt::format("; and {} more places", places.size() - most_places);
  const auto alone =
      std::count_if(report.faults.begin(), report.faults.end(), [](const auto& fault) {
        return fault.nature == works::Nature::non_fill && !fault.pattern;
      });
  if (alone > 0)
    text +=
        fmt::format("{}{} burst{} alone", text.empty() ? "" : "; ", alone, alone == 1 ? "" : "s");
  return text;
}

std::string dirt(const ListeningReport& report) {
  const auto specks =
      std::count_if(report.faults.begin(), report.faults.end(), [](const auto& fault) {
        return fault.nature == works::Nature::dirt;
      });
  return specks == 0 ? "" : fmt::format("{} speck{}", specks, specks == 1 ? "" : "s");
}

std::string offset(const works::Wow& wow) {
  if (!wow.eccentricity_m) return "not determined";
  std::string text = fmt::format("{:.3f}", *wow.eccentricity_m * 1e3);
  if (wow.eccentricity_sigma_m) text += fmt::format(" ± {:.3f}", *wow.eccentricity_sigma_m * 1e3);
  text += " mm";
  if (wow.eccentricity_direction_deg)
    text += " towards " + draw::degrees(*wow.eccentricity_direction_deg);
  return text + (wow.arm_corrected ? ", as seated" : ", as seated, arm not corrected");
}

std::string flutter(double two_sigma, const std::optional<double>& peak) {
  std::string text = fmt::format("wow and flutter ±{:.3f} % weighted, 2-sigma", two_sigma * 1e2);
  if (peak) text += fmt::format(", peak {:.3f} %", *peak * 1e2);
  return text;
}

std::string tone(const works::Tone& tone) {
  std::string text = fmt::format("{:.2f} Hz for {:g} Hz, {:+.3f} ± {:.3f} %",
                                 tone.measured_Hz,
                                 tone.nominal_Hz,
                                 tone.speed_error_ppm * 1e-4,
                                 tone.speed_sigma_ppm * 1e-4);
  if (tone.drift_ppm_per_min)
    text += fmt::format(", drift {:+.4f} % a minute", *tone.drift_ppm_per_min * 1e-4);
  if (tone.weighted_2sigma) text += "; " + flutter(*tone.weighted_2sigma, tone.weighted_peak);
  return text;
}

std::string turn(const works::Turn& turn) {
  std::string text = fmt::format("{:.2f} ± {:.2f} rpm by", turn.rpm, turn.sigma_rpm);
  for (std::size_t i = 0; i < turn.evidence.size(); ++i)
    text += (i == 0 ? " " : ", ") + turn.evidence[i];
  return text + fmt::format(" (by chance: {:.0e})", turn.chance);
}

std::string heard(const ListeningReport& report) {
  std::string text;
  for (const auto& part : report.heard)
    text += fmt::format("{}{} to {}",
                        text.empty() ? "" : ", ",
                        draw::clock_s(part.from_s),
                        draw::clock_s(part.to_s));
  return report.reference
             ? text + fmt::format(" of {}", draw::clock_s(report.reference->file.duration_s))
             : text;
}

/// The reference's own, which are not the disc's.
std::string own_faults(const ListeningReport& report) {
  const auto& all = report.reference->own_faults;
  constexpr std::size_t shown = 4;
  const bool voted = report.reference->kind == works::ReferenceKind::consensus;
  std::string text = fmt::format("{} {} at ", all.size(), all.size() == 1 ? "fault" : "faults");
  for (std::size_t i = 0; i < std::min(shown, all.size()); ++i)
    text += (i == 0 ? "" : ", ") + draw::clock_s(all[i].from_s);
  if (all.size() > shown) text += " …";
  return text + (voted ? " of what all captures share, not of this disc"
                       : " of the reference itself, not of this disc");
}

/// One line, however much is unknown: the report has the reasons.
std::string unknown(const ListeningReport& report) {
  const auto& all = report.undetermined;
  std::string text = "  unknown ";
  if (all.size() == 1) return text + fmt::format("{}: {}", all.front().field, all.front().why);
  for (std::size_t i = 0; i < all.size(); ++i) text += (i == 0 ? "" : ", ") + all[i].field;
  return text;
}

void measure(std::string& out, const char* name, const std::string& text) {
  put(out, text, fmt::format("  {:<8}", name), std::string(10, ' '));
}

void put_remarks(std::string& out, const ListeningReport& report) {
  for (const auto& remark : report.remarks) measure(out, "remark", remark);
}

void put_measures(std::string& out, const ListeningReport& report) {
  out += '\n';
  if (const std::string torn = non_fill(report); !torn.empty()) measure(out, "non-fill", torn);
  if (const std::string specks = dirt(report); !specks.empty()) measure(out, "dirt", specks);
  if (!report.heard.empty()) measure(out, "heard", heard(report));
  if (report.alignment)
    measure(out, "speed", fmt::format("{:+.3f} %", report.alignment->speed_error_ppm * 1e-4));
  measure(out, "offset", offset(report.wow));
  if (report.wow.weighted_2sigma)
    measure(out, "wow", flutter(*report.wow.weighted_2sigma, report.wow.weighted_peak));
  if (report.tone) measure(out, "tone", tone(*report.tone));
  if (report.turn) measure(out, "turn", turn(*report.turn));
  if (report.noise.weighted_dB)
    measure(out,
            "noise",
            report.noise.weighted_reference.empty()
                ? fmt::format("{:.1f} dB", *report.noise.weighted_dB)
                : fmt::format(
                      "{:.1f} dB, {}", *report.noise.weighted_dB, report.noise.weighted_reference));
  if (report.reference && !report.reference->own_faults.empty())
    measure(out, "shared", own_faults(report));
  if (!report.verdict.limits.empty()) measure(out, "limits", report.verdict.limits);
  if (!report.undetermined.empty()) out += clipped(unknown(report), line_width) + "\n";
  put_remarks(out, report);
}

}  // namespace

std::string summary(const ListeningReport& report, bool colour) {
  std::string out = headline(report, colour);
  put_reasons(out, report);
  if (draw::standing(report) != Standing::not_this_cut) {
    put_faults(out, report);
    put_measures(out, report);
  } else {
    put_remarks(out, report);  // a clipped or dead capture may be why the cut was not found
  }
  out += '\n';
  put(out, next_act(report) + ".", "Next: ", "      ");
  return out;
}

}  // namespace goodside::cli
