#include "serve/jobs.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "intake/compressed_file.hpp"
#include "serve/nodes.hpp"
#include "serve/passwords.hpp"

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
