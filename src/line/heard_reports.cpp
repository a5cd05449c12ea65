#include "line/heard_reports.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <set>
#include <system_error>
#include <utility>

#include "intake/limits.hpp"
#include "intake/safe_file.hpp"
#include "json/listening_report.hpp"
#include "listen/check_disc.hpp"
#include "listen/learn_limits.hpp"

namespace goodside::line {
namespace {

namespace fs = std::filesystem;

/// A file to read, and whether it was only found in a folder.
struct Source {
  std::string path;
  bool of_a_folder{};
};

Result<std::vector<Source>> sources_of(const std::vector<std::string>& paths) {
  std::vector<Source> all;
  for (const std::string& path : paths) {
    std::error_code failed;
    if (!fs::is_directory(path, failed)) {
      all.push_back({path, false});
      continue;
    }
    std::vector<Source> inside;
    for (fs::directory_iterator entry{path, failed}, end; !failed && entry != end;
         entry.increment(failed))
      if (entry->path().extension() == ".json") inside.push_back({entry->path().string(), true});
    if (failed)
      return Error{Fault::io, fmt::format("{}: the folder cannot be read; check its rights", path)};
    if (inside.empty())
      return Error{Fault::not_found,
                   fmt::format("{}: no .json in this folder; name the folder that "
                               "`goodside listen --json` wrote into",
                               path)};
    std::ranges::sort(inside, {}, &Source::path);
    all.insert(all.end(), inside.begin(), inside.end());
  }
  return all;
}

Result<works::ListeningReport> read_report(const std::string& path) {
  const auto text = intake::read_whole(path, json::largest_report_bytes);
  if (!text) return text.error();
  auto report = json::read(*text);
  if (!report) return Error{report.error().fault, path + ": " + report.error().text};
  report->wow.curve = {};
  report->noise.polar.reset();
  return report;
}

/// A disc's measures with the format it was heard at.
struct Heard {
  listen::ListenedDisc disc;
  std::string format;
};

class Reader {
 public:
  Outcome take(const std::vector<std::string>& paths, bool passed) {
    const auto sources = sources_of(paths);
    if (!sources) return sources.error();
    for (const Source& source : *sources) {
      std::error_code ignored;
      const auto whole = fs::weakly_canonical(source.path, ignored).string();
      if (!seen_.insert(whole).second)
        return Error{Fault::bad_input,
                     source.path + ": given twice; a disc was passed or failed, and counts once"};
      const auto report = read_report(source.path);
      if (!report && !source.of_a_folder) return report.error();
      if (!report) {
        remarks.push_back("passed over: " + report.error().text);
        continue;
      }
      heard.push_back(
          {{source.path, passed, listen::judged_values(*report)}, report->geometry.format});
    }
    return Done{};
  }

  std::vector<Heard> heard;
  std::vector<std::string> remarks;

 private:
  std::set<std::string> seen_;
};

Result<std::string> common_format(const std::vector<Heard>& heard) {
  std::set<std::string> formats;
  for (const auto& one : heard) formats.insert(one.format);
  if (formats.size() == 1) return *formats.begin();
  return Error{
      Fault::bad_input,
      fmt::format("the reports are of {}; choose one with --format", fmt::join(formats, ", "))};
}

}  // namespace

Result<works::LearnedLimits> learn_from_reports(const ListenersVerdicts& verdicts) {
  Reader reader;
  for (const auto& taken :
       {reader.take(verdicts.passed, true), reader.take(verdicts.failed, false)})
    if (!taken) return taken.error();
  if (reader.heard.empty())
    return Error{Fault::bad_input,
                 "no listening report among what was given; give what `goodside listen --json` "
                 "wrote"};
  listen::LearnOptions options{
      .format = verdicts.format, .from = {}, .missed_weighs = verdicts.missed_weighs};
  if (options.format.empty()) {
    const auto format = common_format(reader.heard);
    if (!format) return format.error();
    options.format = *format;
  }
  if (verdicts.limits.empty()) {
    options.from = intake::built_in_limits(options.format);
  } else {
    auto from = intake::read_limits(verdicts.limits, options.format);
    if (!from) return from.error();
    options.from = std::move(*from);
  }
  std::vector<listen::ListenedDisc> discs;
  for (auto& one : reader.heard)
    if (one.format == options.format)
      discs.push_back(std::move(one.disc));
    else
      reader.remarks.push_back(
          fmt::format("passed over: {}: of format {}", one.disc.path, one.format));
  if (discs.empty())
    return Error{
        Fault::bad_input,
        fmt::format("no report is of format {}; choose another with --format", options.format)};
  auto learned = listen::learn_limits(discs, options);
  learned.limits.name = options.format + " as listeners judge";
  learned.remarks.insert(learned.remarks.begin(), reader.remarks.begin(), reader.remarks.end());
  return learned;
}

Result<works::BenchCheck> check_bench_by_reports(const CheckDiscPlays& given) {
  const auto sources = sources_of(given.reports);
  if (!sources) return sources.error();
  std::vector<works::ListeningReport> plays;
  std::vector<std::string> remarks;
  for (const Source& source : *sources) {
    auto report = read_report(source.path);
    if (!report && !source.of_a_folder) return report.error();
    if (!report) {
      remarks.push_back("passed over: " + report.error().text);
      continue;
    }
    report->faults = {};
    report->capture.path = source.path;
    plays.push_back(std::move(*report));
  }
  auto check = listen::check_bench(plays, {.day = given.day, .first_plays = given.first_plays});
  if (!check) return check.error();
  check->remarks.insert(check->remarks.begin(), remarks.begin(), remarks.end());
  return check;
}

}  // namespace goodside::line
