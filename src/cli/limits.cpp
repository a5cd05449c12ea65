#include "intake/limits.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <ostream>
#include <system_error>

#include "cli/commands.hpp"
#include "cli/wrap.hpp"
#include "intake/safe_file.hpp"
#include "json/bench_results.hpp"
#include "line/heard_reports.hpp"
#include "units/number.hpp"

namespace goodside::cli {
namespace {

using works::Agreement;
using works::LearnedLimits;

Result<double> weight(std::string_view text) {
  const auto number = units::leading_number(units::trimmed(text));
  if (!number || !number->rest.empty() || !(number->value >= 0.01 && number->value <= 100.0))
    return Error{Fault::bad_input,
                 fmt::format("\"{}\" is not a number from 0.01 to 100; for instance 3", text)};
  return number->value;
}

std::string share(const Agreement& agreement) {
  return fmt::format(
      "{} of {}, {:.0f} % (95 %: {:.0f} to {:.0f} %); of {} failed discs {} are held",
      agreement.agreed(),
      agreement.discs(),
      agreement.share * 1e2,
      agreement.low * 1e2,
      agreement.high * 1e2,
      agreement.failed,
      agreement.failed_held);
}

void put_limits(std::string& out, const LearnedLimits& learned) {
  out += '\n';
  for (const auto& measure : learned.measures) {
    if (measure.gained > 0)
      put(out,
          fmt::format("{:g}  {}", *measure.limit, measure.why),
          fmt::format("  {:<22} ", measure.rule),
          std::string(25, ' '));
  }
  std::string kept, why;
  for (const auto& measure : learned.measures) {
    if (measure.gained > 0 || !measure.limit) continue;
    kept += fmt::format("{}{}", kept.empty() ? "" : ", ", measure.rule);
    if (measure.discs > 0 && why.empty()) why = measure.why;
  }
  if (!kept.empty()) put(out, kept, "  kept  ", "        ");
  if (!why.empty()) put(out, why, "        ", "        ");
}

void put_misses(std::string& out, const LearnedLimits& learned) {
  constexpr std::size_t most_misses = 10;
  if (learned.misses.empty()) return;
  out += "\nWhere listeners and limits still differ:\n";
  for (std::size_t i = 0; i < std::min(most_misses, learned.misses.size()); ++i) {
    const auto& miss = learned.misses[i];
    put(out,
        fmt::format("{}: listeners {} it; {}",
                    miss.path,
                    miss.listeners_passed ? "passed" : "failed",
                    miss.why),
        "  - ",
        "    ");
  }
  if (learned.misses.size() > most_misses)
    out +=
        fmt::format("  - and {} more; --json has them all\n", learned.misses.size() - most_misses);
}

std::string said(const LearnedLimits& learned, const std::string& file) {
  const auto moved =
      std::ranges::count_if(learned.measures, [](const auto& one) { return one.gained > 0; });
  std::string out =
      moved == 0 ? fmt::format("No limit moved  {}\n", learned.format)
                 : fmt::format("{} limit{} learned  {}, from {} passed and {} failed discs\n",
                               moved,
                               moved == 1 ? "" : "s",
                               learned.format,
                               learned.learned.passed,
                               learned.learned.failed);
  put_limits(out, learned);
  out += "\nAgreement with the listeners:\n";
  const auto agreement = [&](const char* name, const Agreement& one) {
    if (one.discs() > 0) put(out, share(one), fmt::format("  {:<11}", name), std::string(13, ' '));
  };
  agreement("before", learned.built_in);
  if (moved > 0) agreement("learned", learned.learned);
  agreement("left out", learned.left_out);
  if (learned.left_out.discs() > 0)
    put(out,
        "left out: each disc judged by limits learned from the others; the figure to expect",
        "  ",
        "  ");
  put_misses(out, learned);
  for (const auto& remark : learned.remarks) put(out, remark, "  remark  ", "          ");
  out += '\n';
  put(out,
      moved == 0
          ? "gather more discs that listeners passed and failed, and learn again."
          : fmt::format("hear with --limits {}; have the discs above listened to again.", file),
      "Next: ",
      "      ");
  return out;
}

Outcome check_file(const std::string& path) {
  std::error_code ignored;
  const auto folder = std::filesystem::path{path}.parent_path();
  if (!path.ends_with(".toml"))
    return Error{Fault::bad_input,
                 fmt::format("--out: {} does not end with .toml; name it so", path)};
  if (!folder.empty() && !std::filesystem::is_directory(folder, ignored))
    return Error{Fault::bad_input,
                 fmt::format("--out: there is no folder {}; make it first", folder.string())};
  return Done{};
}

Result<line::ListenersVerdicts> request_of(const Args& args) {
  line::ListenersVerdicts request{.passed = args.all("--passed"),
                                  .failed = args.all("--failed"),
                                  .format = args.text("--format"),
                                  .limits = args.text("--limits")};
  const auto formats = intake::limit_formats();
  if (!request.format.empty() && std::ranges::find(formats, request.format) == formats.end())
    return Error{
        Fault::bad_input,
        fmt::format("--format: \"{}\" is none of {}", request.format, fmt::join(formats, ", "))};
  const auto weighs = args.read("--missed-weighs", weight);
  if (!weighs) return weighs.error();
  request.missed_weighs = *weighs;
  return request;
}

int learn(const Args& args, Console& console) {
  const auto request = request_of(args);
  if (!request) return console.refuse(request.error());
  const std::string& file = args.text("--out");
  if (const auto usable = check_file(file); !usable) return console.refuse(usable.error());
  const auto learned = line::learn_from_reports(*request);
  if (!learned) return console.refuse(learned.error());
  if (const auto saved =
          intake::write_whole(file, intake::limits_toml(learned->limits, learned->format));
      !saved)
    return console.refuse(saved.error());
  const std::string& json = args.text("--json");
  if (!json.empty() && json != "-")
    if (const auto saved = intake::write_whole(json, json::write(*learned)); !saved)
      return console.refuse(saved.error());
  console.out() << (json == "-" ? json::write(*learned) : said(*learned, file));
  return static_cast<int>(Exit::within_limits);
}

}  // namespace

Command limits_command() {
  return {
      .name = "limits",
      .help = "Learns limits from discs that listeners passed and failed.",
      .example = R"(goodside limits --passed good/ --failed bad/ --out ours.toml

1 limit learned  12in-33, from 24 passed and 12 failed discs

  weighted_noise_dB      -44  tightened from -40 dB: 5 discs come right by it
  ...
Agreement with the listeners:
  before     28 of 36, 78 % (95 %: 61 to 90 %); of 12 failed discs 6 are held
  left out   32 of 36, 89 % (95 %: 74 to 97 %); of 12 failed discs 10 are held
  ...
Next: hear with --limits ours.toml; have the discs above listened to again.)",
      .options = {{.name = "--passed",
                   .value = "DIR|FILE...",
                   .help =
                       "Reports, as --json of listen wrote them, of discs that listeners passed.",
                   .required = true,
                   .several = true},
                  {.name = "--failed",
                   .value = "DIR|FILE...",
                   .help = "Reports of discs that listeners failed.",
                   .required = true,
                   .several = true},
                  {.name = "--out",
                   .value = "FILE",
                   .help = "The limits, in TOML, for --limits of listen.",
                   .required = true},
                  {.name = "--format",
                   .value = "NAME",
                   .help = "Learn for this one, where the reports are of several: 12in-33."},
                  {.name = "--limits",
                   .value = "FILE",
                   .help = "Begin from these limits, not from the built-in ones."},
                  {.name = "--missed-weighs",
                   .value = "N",
                   .help = "A failed disc let through weighs as much as N passed discs held.",
                   .fallback = "1"},
                  {.name = "--json",
                   .value = "FILE|-",
                   .help = "Write evidence, agreement and misses; - is standard output."}},
      .run = learn};
}

}  // namespace goodside::cli
