#include "line/trace_side.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <optional>
#include <utility>

#include "intake/safe_file.hpp"
#include "json/family.hpp"
#include "json/listening_report.hpp"
#include "listen/pieces.hpp"
#include "trace/trace.hpp"

namespace goodside::line {
namespace {

namespace fs = std::filesystem;

Result<works::HeardPlay> read_play(const works::FamilyReport& report, const std::string& folder) {
  const std::string path = (fs::path{folder} / report.file).string();
  const auto text = intake::read_whole(path, json::largest_report_bytes);
  if (!text) return text.error();
  auto play = json::read_heard_play(*text);
  if (!play) return Error{play.error().fault, path + ": " + play.error().text};
  play->disc = report.disc;
  play->file = report.file;
  play->side = report.side;
  play->play = report.play;
  play->after = report.after;
  return play;
}

}  // namespace

Result<HeardFamily> read_heard_family(const std::string& family,
                                      const std::string& reports,
                                      int jobs) {
  const auto text = intake::read_whole(family, json::largest_family_bytes);
  if (!text) return text.error();
  auto read = json::read_family(*text);
  if (!read) return Error{read.error().fault, family + ": " + read.error().text};
  HeardFamily heard{
      .family = std::move(read->family), .plays = {}, .refused = std::move(read->refused)};
  const auto& listed = heard.family.reports;
  if (listed.empty())
    return Error{Fault::bad_input,
                 family + ": it lists no listening report; name them under \"reports\""};
  std::error_code ignored;
  if (!fs::is_directory(reports, ignored))
    return Error{Fault::not_found,
                 fmt::format("--reports: there is no folder {}; name the one that holds the "
                             "listening reports",
                             reports)};
  std::vector<std::optional<Result<works::HeardPlay>>> plays(listed.size());
  const auto all = listen::run_pieces(listed.size(), jobs, [&](std::size_t, std::size_t i) {
    plays[i] = read_play(listed[i], reports);
    return Outcome{Done{}};
  });
  if (!all) return all.error();
  for (std::size_t i = 0; i < plays.size(); ++i)
    if (*plays[i])
      heard.plays.push_back(std::move(**plays[i]));
    else
      heard.refused.push_back({"report " + listed[i].file, plays[i]->error().text});
  if (heard.plays.empty())
    return Error{Fault::bad_input,
                 fmt::format("none of the {} reports can be used; the first: {}",
                             listed.size(),
                             heard.refused.back().why)};
  return heard;
}

Result<TracedFamily> trace_family(HeardFamily heard, int jobs) {
  works::Family family = heard.family;
  const std::string works_side = std::move(heard.works_side);
  std::vector<works::HeardPlay> plays = heard.plays;
  auto trace = trace::trace(
      std::move(heard.family), std::move(heard.plays), std::move(heard.refused), {.jobs = jobs});
  if (trace.reports == 0)
    return Error{Fault::bad_input,
                 fmt::format("no report can be tied to a disc of the family; the first: {}: {}",
                             trace.refused.front().what,
                             trace.refused.front().why)};
  trace.works_side = works_side;
  if (const std::string invented = works::invented_costs(family.costs);
      !invented.empty() && !trace.recurring.empty())
    trace.remarks.push_back(invented);
  return TracedFamily{std::move(family), std::move(trace), std::move(plays)};
}

}  // namespace goodside::line
