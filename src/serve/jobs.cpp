#include "serve/jobs.hpp"

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
#include "serve/nodes.hpp"
#include "serve/passwords.hpp"
#include "serve/ticket_side.hpp"

namespace goodside::serve {
namespace {

namespace fs = std::filesystem;
using ledger::at;
using ledger::Row;
using ledger::text;
using ledger::Value;
using ledger::Values;
using ledger::whole;

constexpr std::int64_t most_attempts = 5;
constexpr std::size_t largest_trace = std::size_t{64} << 20;

constexpr std::string_view job_columns =
    "id, number, kind, state, what, ticket, letter, side, path, sha256, bench, who, at_ms, "
    "began_ms, "
    "ended_ms, attempts, error, report, pass";

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

std::optional<std::int64_t> maybe(const Value& value) {
  return ledger::is_null(value) ? std::nullopt : std::optional{whole(value)};
}

Job job_from(const Values& row) {
  Job job{.id = text(row[0]), .kind = text(row[2]), .state = text(row[3]), .what = text(row[4])};
  job.number = whole(row[1]);
  job.ticket = text(row[5]);
  job.letter = text(row[6]);
  job.side = text(row[7]);
  job.path = text(row[8]);
  job.sha256 = text(row[9]);
  job.bench = text(row[10]);
  job.who = text(row[11]);
  job.at_ms = whole(row[12]);
  job.began_ms = maybe(row[13]);
  job.ended_ms = maybe(row[14]);
  job.attempts = whole(row[15]);
  job.error = text(row[16]);
  job.report = text(row[17]);
  job.pass = maybe(row[18]);
  if (job.state == "done") job.share = 1.0;
  return job;
}

Value or_nothing(const std::string& text) {
  return text.empty() ? Value{} : Value{text};
}

void insert(ledger::Connection& connection, const Job& job) {
  const std::int64_t number =
      whole(connection.ask("SELECT coalesce(max(number), 0) + 1 FROM job").at(0).at(0));
  connection.run(
      "INSERT INTO job (id, number, kind, state, what, ticket, letter, side, path, sha256, bench, "
      "who, at_ms, attempts) VALUES ($1, $2, $3, 'queued', $4, $5, $6, $7, $8, $9, $10, $11, $12, "
      "0) ON CONFLICT (id) DO NOTHING",
      {job.id,
       number,
       job.kind,
       job.what,
       or_nothing(job.ticket),
       or_nothing(job.letter),
       or_nothing(job.side),
       or_nothing(job.path),
       or_nothing(job.sha256),
       or_nothing(job.bench),
       job.who,
       job.at_ms});
}

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

Jobs::Jobs(line::WorksPlace place,
           Store& store,
           Records& records,
           Standing& standing,
           Reports& reports,
           Setting setting)
    : place_{std::move(place)},
      store_{store},
      records_{records},
      standing_{standing},
      reports_{reports},
      setting_{std::move(setting)},
      version_{now_ms()} {
  std::error_code ignored;
  fs::remove_all(place_.folder + "/serve/analyses", ignored);
  // What ran when the server ended begins again.
  store_.run("UPDATE job SET state = 'queued' WHERE state = 'running'");
}

Jobs::~Jobs() {
  stop();
}

void Jobs::begin() {
  for (int k = 0; k < setting_.at_once; ++k) threads_.emplace_back([this] { work(); });
}

void Jobs::stop() {
  {
    const std::lock_guard lock{guard_};
    stopping_ = true;
  }
  woken_.notify_all();
  for (std::thread& thread : threads_) thread.join();
  threads_.clear();
}

void Jobs::wake() {
  changed();
  woken_.notify_all();
}

void Jobs::put(ledger::Connection& connection, const HearJob& job, std::int64_t now) {
  Job queued{.id = job.id, .kind = "hear", .state = "queued", .what = job.what};
  queued.ticket = job.ticket;
  queued.letter = job.letter;
  queued.path = job.path;
  queued.sha256 = job.sha256;
  queued.bench = job.bench;
  queued.who = job.who;
  queued.at_ms = now;
  insert(connection, queued);
}

std::string Jobs::ask_trace(const std::string& side, std::int64_t seq, const std::string& who) {
  std::string id;
  store_.in([&](ledger::Connection& connection) {
    const auto rows = connection.ask(
        "SELECT id, state FROM job WHERE kind = 'trace' AND side = $1 AND state IN ('queued', "
        "'running') ORDER BY number DESC",
        {side});
    const std::lock_guard lock{guard_};
    for (const auto& row : rows) {
      // One that runs began from an older state of the record.
      const auto from = trace_seq_.find(text(row[0]));
      if (text(row[1]) == "queued" || (from != trace_seq_.end() && from->second >= seq))
        id = text(row[0]);
    }
    if (!id.empty()) return;
    id = random_token().substr(0, 16);
    Job job{.id = id, .kind = "trace", .state = "queued", .what = side};
    job.side = side;
    job.who = who;
    job.at_ms = now_ms();
    insert(connection, job);
    changed();
  });
  woken_.notify_all();
  return id;
}

Job Jobs::find(const std::string& id) {
  const auto rows = store_.ask(fmt::format("SELECT {} FROM job WHERE id = $1", job_columns), {id});
  if (rows.empty()) throw Stop{404, fmt::format("there is no job {}", id.substr(0, 40))};
  Job job = job_from(rows[0]);
  const std::lock_guard lock{guard_};
  if (const auto share = shares_.find(id); share != shares_.end()) job.share = share->second;
  return job;
}

std::vector<Job> Jobs::list(std::int64_t count) {
  std::vector<Job> jobs;
  for (const auto& row : store_.ask(
           fmt::format("SELECT {} FROM job ORDER BY CASE state WHEN 'running' THEN 0 WHEN 'queued' "
                       "THEN 1 ELSE 2 END, CASE WHEN state = 'queued' THEN number ELSE -number END "
                       "LIMIT $1",
                       job_columns),
           {count}))
    jobs.push_back(job_from(row));
  const std::lock_guard lock{guard_};
  for (Job& job : jobs)
    if (const auto share = shares_.find(job.id); share != shares_.end()) job.share = share->second;
  return jobs;
}

std::int64_t Jobs::unfinished() {
  return whole(
      store_.ask("SELECT count(*) FROM job WHERE state IN ('queued', 'running') AND kind "
                 "= 'hear'")[0][0]);
}

Job Jobs::cancel(const std::string& id) {
  const Job job = find(id);
  if (job.state != "queued" && job.state != "running")
    throw Stop{409, fmt::format("the job is {} already", job.state)};
  {
    const std::lock_guard lock{guard_};
    cancelled_.insert(id);
  }
  store_.run("UPDATE job SET state = 'cancelled', ended_ms = $1 WHERE id = $2 AND state = 'queued'",
             {now_ms(), id});
  changed();
  return find(id);
}

Job Jobs::retry(const std::string& id) {
  const Job job = find(id);
  if (job.state != "failed" && job.state != "cancelled")
    throw Stop{
        409,
        fmt::format("the job is {}; only a failed or cancelled one is tried again", job.state)};
  {
    const std::lock_guard lock{guard_};
    cancelled_.erase(id);
  }
  store_.run("DELETE FROM side_check WHERE job = $1", {id});
  store_.run(
      "UPDATE job SET state = 'queued', attempts = 0, error = NULL, began_ms = NULL, ended_ms = "
      "NULL WHERE id = $1",
      {id});
  wake();
  return find(id);
}

std::optional<Job> Jobs::take() {
  std::optional<Job> taken;
  store_.in([&](ledger::Connection& connection) {
    const auto rows = connection.ask(fmt::format(
        "SELECT {} FROM job WHERE state = 'queued' ORDER BY number LIMIT 1", job_columns));
    if (rows.empty()) return;
    taken = job_from(rows[0]);
    ++taken->attempts;
    connection.run(
        "UPDATE job SET state = 'running', attempts = attempts + 1, began_ms = $1 WHERE id = $2",
        {now_ms(), taken->id});
  });
  return taken;
}

void Jobs::work() {
  while (true) {
    std::optional<Job> job;
    try {
      if (!stopping_) job = take();
    } catch (const ledger::StoreFailure&) {
      // Tried again at the next turn.
    }
    if (job) {
      run(*job);
      continue;
    }
    std::unique_lock lock{guard_};
    if (stopping_) return;
    woken_.wait_for(lock, std::chrono::seconds{1});
  }
}

void Jobs::run(const Job& job) {
  changed();
  std::string error;
  if (job.attempts > most_attempts) {
    error = fmt::format("it did not come to an end in {} attempts", most_attempts);
  } else {
    try {
      job.kind == "trace" ? trace(job) : hear(job);
    } catch (const Stop& stop) {
      error = stop.text;
    } catch (const ledger::Refused& refused) {
      error = refused.error.text;
    } catch (const std::exception& failure) {
      error = fmt::format("this is our own fault ({})", failure.what());
    }
  }
  try {
    end_job(job, error);
  } catch (const ledger::StoreFailure&) {
    // It stands as running and begins again at the next start.
  }
}

void Jobs::end_job(const Job& job, const std::string& error) {
  bool cancelled = false;
  {
    const std::lock_guard lock{guard_};
    shares_.erase(job.id);
    cancelled = cancelled_.erase(job.id) > 0;
  }
  if (error.empty())
    set_state(job.id, "done", "");
  else if (cancelled)
    set_state(job.id, "cancelled", "");
  else if (stopping_)
    store_.run(
        "UPDATE job SET state = 'queued', attempts = attempts - 1, began_ms = NULL WHERE id = $1",
        {job.id});
  else
    set_state(job.id, "failed", error);
  changed();
}

void Jobs::set_state(const std::string& id, const std::string& state, const std::string& error) {
  store_.run("UPDATE job SET state = $1, error = $2, ended_ms = $3 WHERE id = $4",
             {state, or_nothing(error), now_ms(), id});
}

bool Jobs::goes_on(const std::string& id) {
  const std::lock_guard lock{guard_};
  return !stopping_ && !cancelled_.contains(id);
}

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
    const auto bytes = or_stop(intake::read_whole(track.string(), largest_trace));
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
  const std::string made = or_stop(intake::read_whole(file, largest_trace));
  const std::string path = fmt::format("serve/traces/{}.json.gz", job.side);
  if (const auto kept = intake::write_compressed(place_.folder + "/" + path, made); !kept)
    throw Stop{503, kept.error().text};
  store_.run(
      "INSERT INTO traced (side, seq, path) VALUES ($1, $2, $3) ON CONFLICT (side) DO UPDATE SET "
      "seq = excluded.seq, path = excluded.path",
      {job.side, seq, path});
}

std::optional<Jobs::Traced> Jobs::traced(const std::string& side) {
  const auto rows = store_.ask("SELECT seq, path FROM traced WHERE side = $1", {side});
  if (rows.empty()) return std::nullopt;
  auto made = intake::read_compressed(place_.folder + "/" + text(rows[0][1]), largest_trace);
  if (!made) return std::nullopt;
  return Traced{whole(rows[0][0]), std::move(*made)};
}

std::optional<Jobs::LastTrace> Jobs::last_trace(const std::string& side) {
  const auto rows = store_.ask(
      "SELECT id, state, error FROM job WHERE kind = 'trace' AND side = $1 ORDER BY number DESC "
      "LIMIT 1",
      {side});
  if (rows.empty()) return std::nullopt;
  const std::lock_guard lock{guard_};
  const auto from = trace_seq_.find(text(rows[0][0]));
  return LastTrace{text(rows[0][0]),
                   text(rows[0][1]),
                   text(rows[0][2]),
                   from == trace_seq_.end() ? 0 : from->second};
}

json::Node job_node(const Job& job) {
  return Object{{"id", job.id},
                {"kind", job.kind},
                {"state", job.state},
                {"share", job.share},
                {"what", job.what},
                {"ticket", or_null(job.ticket)},
                {"letter", or_null(job.letter)},
                {"side", or_null(job.side)},
                {"who", job.who},
                {"at_ms", job.at_ms},
                {"began_ms", or_null(job.began_ms)},
                {"ended_ms", or_null(job.ended_ms)},
                {"attempts", job.attempts},
                {"error", or_null(job.error)},
                {"report", or_null(job.report)},
                {"pass", job.pass ? json::Node{*job.pass != 0} : json::Node{}}};
}

}  // namespace goodside::serve
