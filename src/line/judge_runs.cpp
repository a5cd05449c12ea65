#include "line/judge_runs.hpp"

#include <algorithm>

namespace goodside::line {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;
using works::Place;

bool can_ship(Place place) {
  return place == Place::pressed || place == Place::edge_finished || place == Place::good_stock ||
         place == Place::packed;
}

/// Stretches of one mounting each; pressings of a mounting that follow each other are one.
std::vector<plan::Stretch> stretches_of(Reader& reader, const std::string& run) {
  std::vector<Row> rows = reader.standing("pressing", "run", run);
  std::ranges::sort(rows, {}, [](const Row& row) { return whole(at(row, "first")); });
  std::vector<plan::Stretch> stretches;
  std::string mounting;
  for (const Row& row : rows) {
    const std::string purpose = text(at(row, "purpose"));
    if (!purpose.empty() && purpose != "run") continue;
    const std::string on = text(at(row, "mounting"));
    const std::int64_t first = whole(at(row, "first")), last = whole(at(row, "last"));
    if (!stretches.empty() && on == mounting)
      stretches.back().last = last;
    else
      stretches.push_back({first, last});
    mounting = on;
  }
  return stretches;
}

std::vector<plan::Sample> samples_of(Reader& reader,
                                     const std::string& run,
                                     const std::vector<works::Holding>& holdings) {
  std::vector<plan::Sample> samples;
  for (const Row& row : reader.standing("ticket", "run", run)) {
    plan::Sample sample{.first = whole(at(row, "first")), .last = whole(at(row, "last"))};
    const std::string heard = text(at(row, "heard"));
    if (heard == "good") sample.state = plan::Sample::State::good;
    if (heard == "bad") {
      sample.state = plan::Sample::State::flawed;
      const works::Impressions doubt{whole(at(row, "held_first"), sample.first),
                                     whole(at(row, "held_last"), sample.last)};
      sample.contained = std::ranges::none_of(holdings, [&](const works::Holding& one) {
        return can_ship(one.spot.place) && one.quantity > 0 && one.impressions.meets(doubt);
      });
    }
    samples.push_back(sample);
  }
  return samples;
}

JudgedRun evidence_of(Reader& reader, const Row& row) {
  JudgedRun run{.run = text(at(row, "code")), .order = text(at(row, "order"))};
  const auto title = reader.find("title", text(at(row, "title")));
  if (title) run.title = text(at(*title, "name"));
  const auto holdings = reader.holdings(run.run);
  for (const works::Holding& one : holdings) {
    if (one.spot.place == Place::press) run.made = -one.quantity;
    if (can_ship(one.spot.place)) run.evidence.shippable += one.quantity;
    if (one.spot.place == Place::suspect) run.evidence.suspect += one.quantity;
    if (one.spot.place == Place::shipped) run.evidence.shipped += one.quantity;
  }
  run.evidence.stretches = stretches_of(reader, run.run);
  run.evidence.samples = samples_of(reader, run.run, holdings);
  if (run.made == 0 && !run.evidence.stretches.empty())
    run.made = run.evidence.stretches.back().last;
  return run;
}

}  // namespace

Result<std::vector<JudgedRun>> judge_runs(ledger::Record& record,
                                          const std::string& run,
                                          const plan::Risks& risks) {
  std::vector<JudgedRun> runs;
  const auto asked = record.read([&](Reader& reader) {
    runs.clear();
    const auto rows = reader.named_or_all("run", run);
    for (const Row& row : rows) {
      if (run.empty() && text(at(row, "purpose")) == "test") continue;
      JudgedRun one = evidence_of(reader, row);
      if (!run.empty() || !one.evidence.stretches.empty()) runs.push_back(std::move(one));
    }
  });
  if (!asked) return asked.error();
  for (JudgedRun& one : runs) {
    auto verdict = plan::judge_run(one.evidence, risks);
    if (!verdict) return Error{verdict.error().fault, one.run + ": " + verdict.error().text};
    one.verdict = std::move(*verdict);
  }
  return runs;
}

}  // namespace goodside::line
