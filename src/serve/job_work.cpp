#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <filesystem>

#include "intake/compressed_file.hpp"
#include "intake/safe_file.hpp"
#include "line/sample_tickets.hpp"
#include "serve/child.hpp"
#include "serve/heard_node.hpp"
#include "serve/jobs.hpp"
#include "serve/nodes.hpp"
#include "serve/ticket_side.hpp"

// What a job of each kind does; jobs.cpp keeps the queue.

namespace goodside::serve {
namespace {

namespace fs = std::filesystem;
using ledger::at;
using ledger::Row;
using ledger::text;

constexpr std::size_t largest_report = std::size_t{64} << 20;

/// Where one job's child writes; gone with it. What a killed server left is swept at the next start.
class WorkFolder {
 public:
  WorkFolder(const std::string& works, const std::string& job)
      : path_{works + "/serve/analyses/" + job} {
    std::error_code problem;
    fs::create_directories(path_, problem);
    if (problem) throw Stop{503, fmt::format("{}: {}", path_, problem.message())};
  }
  WorkFolder(const WorkFolder&) = delete;
  WorkFolder& operator=(const WorkFolder&) = delete;
  ~WorkFolder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  [[nodiscard]] const std::string& path() const { return path_; }

 private:
  std::string path_;
};

/// "progress 0.42" as it is told.
std::optional<double> share_of(std::string_view line) {
  constexpr std::string_view word = "progress ";
  if (!line.starts_with(word)) return std::nullopt;
  line.remove_prefix(word.size());
  double share = 0.0;
  const auto [end, problem] = std::from_chars(line.data(), line.data() + line.size(), share);
  if (problem != std::errc{} || !std::isfinite(share)) return std::nullopt;
  return std::clamp(share, 0.0, 1.0);
}

[[noreturn]] void fail(const std::string& why) {
  throw Stop{500, why};
}

/// A child's answer is used where it ended with 0 or 1; else its last words say why not.
void check_end(const ChildEnd& end) {
  if (end.status == 0 || end.status == 1) return;
  if (end.status < 0) fail("it was stopped");
  std::string_view words{end.last_words};
  for (const std::string_view head : {"goodside listen: ", "goodside trace: ", "goodside: "})
    if (words.starts_with(head)) words.remove_prefix(head.size());
  fail(words.empty() ? fmt::format("it ended with {}", end.status) : std::string{words});
}

}  // namespace

std::vector<std::string> Jobs::listen_words(const Job& job, const std::string& folder) {
  std::vector<std::string> words{"listen",
                                 job.path,
                                 "--json",
                                 folder + "/report.json",
                                 "--keep",
                                 folder + "/track.gz",
                                 "--progress-lines",
                                 "--in",
                                 place_.folder};
  const auto say = [&](const char* option, std::string value) {
    words.emplace_back(option);
    words.push_back(std::move(value));
  };
  if (!job.bench.empty()) say("--bench", job.bench);
  records_.read([&](ledger::Reader& reader) {
    const auto [side, cut, name] = ticket_side(reader, job.ticket, job.letter);
    if (!ledger::is_null(at(side, "format"))) say("--format", text(at(side, "format")));
    if (!cut) return;
    for (const auto& [column, option, unit] : {std::tuple{"speed_rpm", "--rpm", ""},
                                               {"outer_radius_m", "--outer-radius", " m"},
                                               {"inner_radius_m", "--inner-radius", " m"},
                                               {"pitch_m", "--pitch", " m"}})
      if (const auto* value = std::get_if<double>(&at(*cut, column)))
        say(option, fmt::format("{}{}", *value, unit));
    const std::string reference = text(at(*cut, "reference"));
    if (reference.empty()) return;
    std::error_code ignored;
    if (!fs::exists(reports_.path_of(reference), ignored))
      fail(fmt::format("the cut's audio {} is not there; put it back, or enter the cut anew",
                       reference));
    say("--reference", reference);
  });
  return words;
}

void Jobs::hear(const Job& job) {
  const WorkFolder folder{place_.folder, job.id};
  const std::string& at_hand = folder.path();
  auto words = listen_words(job, at_hand);
  const int cores =
      unfinished() > 1 ? std::max(1, setting_.cores / setting_.at_once) : setting_.cores;
  words.emplace_back("--jobs");
  words.push_back(fmt::format("{}", cores));
  const auto ended = or_stop(run_child(
      setting_.program,
      words,
      place_.folder,
      [&](const std::string& line) {
        const auto share = share_of(line);
        if (!share) return;
        const std::lock_guard lock{guard_};
        shares_[job.id] = *share;
        changed();
      },
      [&] { return goes_on(job.id); }));
  check_end(ended);
  enter(job, at_hand);
}

/// A disc is not called bad because the other side of it was played at the bench.
void Jobs::check_side(const Job& job, const works::ListeningReport& report) {
  if (!report.alignment || report.alignment->found) return;
  if (store_.ask("SELECT job FROM side_check WHERE job = $1", {job.id}).empty()) return;
  std::string name;
  records_.read(
      [&](ledger::Reader& reader) { name = ticket_side(reader, job.ticket, job.letter).name; });
  fail(
      fmt::format("side {} of {} is not in this recording: another side or disc was played, and "
                  "nothing was entered; record the right one, or try again to enter it as it is",
                  job.letter,
                  name));
}

void Jobs::enter(const Job& job, const std::string& folder) {
  line::Heard heard{.ticket = job.ticket, .letter = job.letter, .version = GOODSIDE_VERSION};
  heard = or_stop(line::keep_report(folder + "/report.json", place_.folder, std::move(heard)));
  check_side(job, *heard.report);
  std::error_code problem;
  const fs::path track = fs::path{folder} / "track.gz";
  if (fs::exists(track, problem)) {
    const auto bytes = or_stop(intake::read_whole(track.string(), largest_report));
    if (const auto kept = intake::write_whole(
            fmt::format("{}/reports/{}.track.gz", place_.folder, heard.report_sha256), bytes);
        !kept)
      throw Stop{503, kept.error().text};
  }
  // A server that was killed between the entry and its own note hears the capture again: the report
  // is the same to the byte, and is not entered twice.
  std::string report;
  records_.read([&](ledger::Reader& reader) {
    for (const Row& capture : reader.standing("capture", "ticket", job.ticket))
      if (text(at(capture, "letter")) == job.letter && text(at(capture, "sha256")) == job.sha256)
        for (const Row& one : reader.standing("report", "capture", text(at(capture, "code"))))
          if (text(at(one, "sha256")) == heard.report_sha256) report = text(at(one, "code"));
  });
  if (report.empty())
    records_.at_desk(job.who, [&](const line::Desk& desk) {
      report = or_stop(line::hear_sample(desk, heard)).report;
    });
  records_.read([&](ledger::Reader& reader) { reports_.prepare(need(reader, "report", report)); });
  store_.run("UPDATE job SET report = $1, pass = $2 WHERE id = $3",
             {report, std::int64_t{heard.good}, job.id});
}

void Jobs::trace(const Job& job) {
  const WorkFolder folder{place_.folder, job.id};
  const std::string file = folder.path() + "/trace.json";
  std::int64_t seq = 0;
  records_.read([&](ledger::Reader& reader) {
    standing_.follow(reader);
    seq = standing_.title_seq(text(at(need(reader, "side", job.side), "title")));
  });
  {
    const std::lock_guard lock{guard_};
    trace_seq_[job.id] = seq;
  }
  const auto ended = or_stop(run_child(
      setting_.program,
      {"trace", "--works", place_.folder, "--side", job.side, "--json", file},
      place_.folder,
      [](const std::string&) {},
      [&] { return goes_on(job.id); }));
  check_end(ended);
  const std::string made = or_stop(intake::read_whole(file, largest_report));
  const std::string path = fmt::format("serve/traces/{}.json.gz", job.side);
  if (const auto kept = intake::write_compressed(place_.folder + "/" + path, made); !kept)
    throw Stop{503, kept.error().text};
  store_.run(
      "INSERT INTO traced (side, seq, path) VALUES ($1, $2, $3) ON CONFLICT (side) DO UPDATE SET "
      "seq = excluded.seq, path = excluded.path",
      {job.side, seq, path});
}

}  // namespace goodside::serve
