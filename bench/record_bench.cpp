// The works' record at the size of twenty years: speed of entry, of questions and of the check, and the
// rate of a bare SQLite insert loop in the same run, so that figures can be read as ratios.
//
//   record_bench WHERE [SCALE]     WHERE: a new file, or postgresql://…; SCALE: share of the full size
//
// Full size: 100 000 runs of 500 discs (50 million), 500 000 of them pulled and heard, 20 000 parts,
// 2 million movements. The bare loop works on WHERE.bare.

#include <fmt/format.h>
#include <sqlite3.h>
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <random>
#include <string>
#include <vector>

#include "ledger/check.hpp"
#include "ledger/record.hpp"
#include "line/origin.hpp"

namespace {

using namespace goodside;
using ledger::Writer;
using works::kind_of_table;
using works::Place;
using works::Spot;
using Clock = std::chrono::steady_clock;

constexpr std::int64_t start_ms = 1'164'412'800'000, day_ms = 86'400'000;

double seconds_since(Clock::time_point begun) {
  return std::chrono::duration<double>(Clock::now() - begun).count();
}

[[noreturn]] void stop(const std::string& why) {
  fmt::print(stderr, "record_bench: {}\n", why);
  std::exit(2);
}

ledger::Head write(ledger::Record& record,
                   std::int64_t at_ms,
                   const std::function<void(Writer&)>& decide) {
  const auto head = record.write({at_ms, "bench", "load"}, decide);
  if (!head) stop(head.error().text);
  return *head;
}

struct Works {
  std::string order, title, press;
  std::vector<std::string> stampers, mountings, runs;
};

Works found(ledger::Record& record) {
  Works works;
  write(record, start_ms, [&](Writer& writer) {
    works.title = writer.add(kind_of_table("title"), {{"name", "Title"}});
    works.order = writer.add(kind_of_table("orders"),
                             {{"title", works.title}, {"quantity", std::int64_t{500}}});
    works.press = writer.add(kind_of_table("press"), {{"name", "Press"}});
  });
  return works;
}

/// A lacquer, a father, two mothers and sixteen stampers a family.
void add_parts(ledger::Record& record, Works& works, int families) {
  for (int family = 0; family < families; ++family)
    write(record, start_ms, [&](Writer& writer) {
      const std::string side =
          writer.add(kind_of_table("side"), {{"title", works.title}, {"letter", "A"}});
      const auto part = [&](const char* kind, const std::string& parent) {
        ledger::Row row{{"kind", kind}, {"side", side}, {"origin", "card"}, {"state", "resting"}};
        if (!parent.empty()) row["parent"] = parent;
        return writer.add(kind_of_table("part"), std::move(row));
      };
      const std::string father = part("father", part("lacquer", ""));
      for (int m = 0; m < 2; ++m) {
        const std::string mother = part("mother", father);
        for (int s = 0; s < 8; ++s) works.stampers.push_back(part("stamper", mother));
      }
    });
}

/// One run of 500 discs: mounted, pressed, finished, 5 discs pulled, a spoilt range, packed in 20 cartons'
/// worth of movements (20 movements in all), in one entry, as a day's station batch.
void add_run(Writer& writer, Works& works, std::mt19937& random) {
  const auto& stamper = works.stampers[random() % works.stampers.size()];
  const auto& other = works.stampers[random() % works.stampers.size()];
  const std::string mounting = writer.add(kind_of_table("mounting"),
                                          {{"press", works.press},
                                           {"stamper_a", stamper},
                                           {"stamper_b", other},
                                           {"counter_from", std::int64_t{0}},
                                           {"ended_ms", start_ms}});
  const std::string run =
      writer.add(kind_of_table("run"),
                 {{"order", works.order}, {"title", works.title}, {"press", works.press}});
  works.runs.push_back(run);
  writer.add(kind_of_table("pressing"),
             {{"run", run},
              {"mounting", mounting},
              {"first", std::int64_t{1}},
              {"last", std::int64_t{500}}});
  const Spot pressed{Place::pressed, "", "", {}}, good{Place::good_stock, "", "", {}};
  writer.post({run, {1, 500}, 500, {Place::press, "", "", {}}, pressed});
  for (std::int64_t disc = 100; disc <= 500; disc += 100) {
    const std::string ticket = writer.add(
        kind_of_table("ticket"),
        {{"run", run}, {"mounting", mounting}, {"first", disc}, {"last", disc}, {"heard", "good"}});
    writer.post({run, {disc, disc}, 1, pressed, {Place::in_sample, ticket, "", {}}});
  }
  const std::int64_t spoilt = 1 + static_cast<std::int64_t>(random() % 90);
  writer.post({run, {spoilt, spoilt + 4}, 5, pressed, {Place::scrap, "", "non-fill", {}}});
  for (std::int64_t from = 101; from < 500; from += 100)
    for (std::int64_t part = from; part < from + 99; part += 33)
      writer.post({run, {part, part + 32}, 33, pressed, good});
  writer.post({run, {101, 133}, 33, good, {Place::shipped, "", "", {}}});
}

/// Acknowledged movements a second, `batch` to a durable commit.
double movement_rate(ledger::Record& record, const Works& works, int batch, double for_s) {
  constexpr std::int64_t discs_a_run = 1500, discs_a_movement = 3;
  std::string run;
  std::int64_t done = 0, at = discs_a_run;
  const auto begun = Clock::now();
  while (seconds_since(begun) < for_s)
    write(record, start_ms, [&](Writer& writer) {
      for (int n = 0; n < batch; ++n, ++done, at += discs_a_movement) {
        if (at >= discs_a_run) {
          run = writer.add(kind_of_table("run"), {{"order", works.order}, {"title", works.title}});
          writer.add(kind_of_table("pressing"),
                     {{"run", run}, {"first", std::int64_t{1}}, {"last", discs_a_run}});
          writer.post({run,
                       {1, discs_a_run},
                       discs_a_run,
                       {Place::press, "", "", {}},
                       {Place::pressed, "", "", {}}});
          at = 0;
        }
        writer.post({run,
                     {at + 1, at + discs_a_movement},
                     discs_a_movement,
                     {Place::pressed, "", "", {}},
                     {Place::shipped, fmt::format("K-{:06}", done / 8), "", {}}});
      }
    });
  return static_cast<double>(done) / seconds_since(begun);
}

/// The same bytes without a ledger: one table, one prepared insert, durable commits of `batch` rows.
double bare_rate(const std::string& path, int batch, double for_s) {
  sqlite3* database = nullptr;
  sqlite3_open(path.c_str(), &database);
  sqlite3_exec(database,
               "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; CREATE TABLE movement (id "
               "INTEGER PRIMARY KEY, run TEXT, "
               "\"first\" INTEGER, \"last\" INTEGER, quantity INTEGER, from_place TEXT, to_place "
               "TEXT, to_at TEXT, at_ms "
               "INTEGER) STRICT",
               nullptr,
               nullptr,
               nullptr);
  sqlite3_stmt* insert = nullptr;
  sqlite3_prepare_v2(
      database,
      "INSERT INTO movement VALUES (?,'R-00001-X',?,?,3,'pressed','shipped','K-000001',?)",
      -1,
      &insert,
      nullptr);
  const auto begun = Clock::now();
  std::int64_t done = 0;
  while (seconds_since(begun) < for_s) {
    sqlite3_exec(database, "BEGIN IMMEDIATE", nullptr, nullptr, nullptr);
    for (int n = 0; n < batch; ++n, ++done) {
      for (int column = 1; column <= 4; ++column) sqlite3_bind_int64(insert, column, done + column);
      sqlite3_step(insert);
      sqlite3_reset(insert);
    }
    sqlite3_exec(database, "COMMIT", nullptr, nullptr, nullptr);
  }
  const double rate = static_cast<double>(done) / seconds_since(begun);
  sqlite3_finalize(insert);
  sqlite3_close(database);
  return rate;
}

/// Median and worst of `count` questions, in milliseconds.
template <class Ask>
void time_questions(const char* what, int count, const Ask& ask) {
  std::vector<double> times;
  for (int n = 0; n < count; ++n) {
    const auto begun = Clock::now();
    ask();
    times.push_back(1e3 * seconds_since(begun));
  }
  std::sort(times.begin(), times.end());
  fmt::print("{:<44}{:>9.2f} ms median, {:.2f} ms worst of {}\n",
             what,
             times[times.size() / 2],
             times.back(),
             count);
}

}  // namespace

int main(int count, char** words) {
  if (count < 2) stop("record_bench WHERE [SCALE]");
  const std::string where = words[1];
  const double scale = count > 2 ? std::atof(words[2]) : 1.0;
  if (!(scale > 0.0 && scale <= 1.0)) stop("SCALE is above 0 and at most 1");
  auto opened = ledger::Record::open(where, true);
  if (!opened) stop(opened.error().text);
  ledger::Record& record = *opened;
  std::mt19937 random{20};

  Works works = found(record);
  const auto begun = Clock::now();
  add_parts(record, works, std::max(1, static_cast<int>(1000 * scale)));
  const int runs = std::max(100, static_cast<int>(100'000 * scale)), a_day = 14;
  for (int done = 0; done < runs; done += a_day)
    write(record, start_ms + done / a_day * day_ms, [&](Writer& writer) {
      for (int n = 0; n < a_day && done + n < runs; ++n) add_run(writer, works, random);
    });
  const auto rows = [&](const char* table) {
    return ledger::whole(
        record.connection().ask(fmt::format("SELECT count(*) FROM {}", table))[0][0]);
  };
  fmt::print("loaded in {:.1f} s: {} runs, {} parts, {} tickets, {} movements, {} holdings\n",
             seconds_since(begun),
             rows("run"),
             rows("part"),
             rows("ticket"),
             rows("movement"),
             rows("holding"));

  time_questions("where did disc N of run R come from", 500, [&] {
    const auto origin = line::origin_of(record,
                                        works.runs[random() % works.runs.size()],
                                        1 + static_cast<std::int64_t>(random() % 500));
    if (!origin) stop(origin.error().text);
  });
  time_questions("where are the discs of stamper S now", 200, [&] {
    const auto found = line::whereabouts(record, works.stampers[random() % works.stampers.size()]);
    if (!found) stop(found.error().text);
  });

  const std::int64_t last_day = start_ms + (runs - 1) / a_day * day_ms;
  auto checking = Clock::now();
  auto checked = ledger::check(record.connection(), {.known_head = {}, .since_ms = last_day});
  fmt::print("{:<44}{:>9.2f} s ({} entries, {} runs), {}\n",
             "a day's check",
             seconds_since(checking),
             checked.entries,
             checked.runs,
             checked.closes() ? "closes" : checked.breaks[0]);
  checking = Clock::now();
  checked = ledger::check(record.connection(), {});
  fmt::print("{:<44}{:>9.2f} s ({} rows, {} movements, {} discs), {}\n",
             "the full check",
             seconds_since(checking),
             checked.rows,
             checked.movements,
             checked.impressions,
             checked.closes() ? "closes" : checked.breaks[0]);
  rusage used{};
  getrusage(RUSAGE_SELF, &used);
  fmt::print("{:<44}{:>9} MB\n", "peak memory", used.ru_maxrss / 1024);

  for (const int batch : {10, 50, 200}) {
    const double bare = bare_rate(
        where.starts_with("postgres") ? "record_bench.bare" : where + ".bare", batch, 3.0);
    const double ours = movement_rate(record, works, batch, 3.0);
    fmt::print(
        "movements/s, {:>3} to a durable commit {:>17.0f}, bare SQLite loop {:.0f}: 1/{:.1f}\n",
        batch,
        ours,
        bare,
        bare / ours);
  }
  return 0;
}
