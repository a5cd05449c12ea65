#include "plan/run_verdict.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

namespace goodside::plan {
namespace {

constexpr std::size_t most_places = 12;

/// The last discs of stretches behind whose last good sample something was pressed.
std::vector<std::int64_t> open_ends(const RunEvidence& run) {
  std::vector<std::int64_t> ends;
  for (const Stretch& stretch : run.stretches) {
    bool closed = false;
    for (const Sample& sample : run.samples)
      if (sample.state != Sample::State::waiting && sample.last >= stretch.first &&
          sample.first <= stretch.last)
        closed = closed || sample.last >= stretch.last || sample.state == Sample::State::flawed;
    if (!closed) ends.push_back(stretch.last);
  }
  return ends;
}

/// The middles of the longest stretches between heard discs, `wanted` of them.
std::vector<std::int64_t> middles(const RunEvidence& run,
                                  std::set<std::int64_t> heard,
                                  std::size_t wanted) {
  std::vector<std::int64_t> places;
  while (places.size() < wanted) {
    Stretch longest{};
    for (const Stretch& stretch : run.stretches) {
      std::int64_t from = stretch.first - 1;
      for (auto at = heard.lower_bound(stretch.first); true; ++at) {
        const bool inside = at != heard.end() && *at <= stretch.last;
        const std::int64_t to = inside ? *at : stretch.last + 1;
        if (to - from > longest.last - longest.first) longest = {from, to};
        if (!inside) break;
        from = to;
      }
    }
    const std::int64_t middle = longest.first + (longest.last - longest.first) / 2;
    if (longest.last - longest.first < 2 || !heard.insert(middle).second) break;
    places.push_back(middle);
  }
  return places;
}

void place(const RunEvidence& run, RunVerdict& verdict) {
  verdict.places = open_ends(run);
  std::set<std::int64_t> heard;
  for (const Sample& sample : run.samples)
    if (!sample.contained) heard.insert(sample.first + (sample.last - sample.first) / 2);
  heard.insert(verdict.places.begin(), verdict.places.end());
  const auto wanted = static_cast<std::size_t>(std::max<std::int64_t>(verdict.at_least, 0));
  if (verdict.places.size() < std::min(wanted, most_places)) {
    const auto more = middles(run, heard, std::min(wanted, most_places) - verdict.places.size());
    verdict.places.insert(verdict.places.end(), more.begin(), more.end());
  }
  if (verdict.places.size() > most_places) verdict.places.resize(most_places);
  std::ranges::sort(verdict.places);
  verdict.at_least = std::max(verdict.at_least, static_cast<std::int64_t>(open_ends(run).size()));
}

/// Discs still to hear by the count alone, and the mean of a good lot.
void count_on(const Boundaries& plan, const Risks& risks, RunVerdict& verdict) {
  for (std::int64_t m = verdict.heard + 1; m <= plan.most(); ++m)
    if (verdict.flawed <= plan.ship_at[static_cast<std::size_t>(m - 1)]) {
      verdict.at_least = m - verdict.heard;
      break;
    }
  verdict.expected = walk(plan, risks.good(), {verdict.heard, verdict.flawed}).heard_mean -
                     static_cast<double>(verdict.heard);
}

enum class Count { ship, hold, open };
Count by_count(const Boundaries& plan, const RunVerdict& verdict) {
  if (verdict.heard == 0) return Count::open;
  const auto at = static_cast<std::size_t>(std::min(verdict.heard, plan.most()) - 1);
  if (verdict.flawed <= plan.ship_at[at]) return Count::ship;
  return verdict.flawed >= plan.hold_at[at] ? Count::hold : Count::open;
}

}  // namespace

Result<RunVerdict> judge_run(const RunEvidence& run, const Risks& asked) {
  RunVerdict verdict;
  std::int64_t waiting = 0;
  for (const Sample& sample : run.samples) {
    if (sample.state == Sample::State::waiting) ++waiting;
    if (sample.state == Sample::State::waiting || sample.contained) continue;
    ++verdict.heard;
    verdict.flawed += sample.state == Sample::State::flawed ? 1 : 0;
  }
  verdict.lot = run.shippable + run.shipped + verdict.heard;
  if (run.shippable == 0) {
    verdict.why = run.suspect > 0
                      ? fmt::format("all {} discs in the house are suspect", run.suspect)
                      : "none of its discs is in the house";
    verdict.act = run.suspect > 0 ? RunAct::hold : RunAct::nothing;
    return verdict;
  }
  Risks risks = asked;
  risks.lot = verdict.lot;
  auto plan = design_sequential(risks);
  if (!plan && risks.good().flawed >= risks.bad().flawed) {
    // So few discs that good and bad lots are one: every disc counts, and all are heard.
    plan = DesignedPlan{
        .boundaries = boundaries_of(
            std::vector<SamplingStage>{{risks.lot, risks.good().flawed, risks.good().flawed + 1}},
            true)};
  }
  if (!plan) return plan.error();
  const Boundaries& boundaries = plan->boundaries;
  const Count counted = by_count(boundaries, verdict);
  if (counted == Count::hold) {
    verdict.act = RunAct::hold;
    verdict.why = fmt::format(
        "{} of {} heard are flawed: too many for a good lot", verdict.flawed, verdict.heard);
    return verdict;
  }
  if (counted == Count::open) count_on(boundaries, risks, verdict);
  place(run, verdict);
  verdict.act = verdict.at_least > 0 ? RunAct::hear_more : RunAct::ship;
  if (verdict.act == RunAct::ship)
    verdict.why = fmt::format("{} heard, {} flawed: enough", verdict.heard, verdict.flawed);
  else if (counted == Count::open)
    verdict.why = fmt::format("{} heard, {} flawed: not enough yet", verdict.heard, verdict.flawed);
  else
    verdict.why = "enough by the count, but nobody heard the end of a mounting";
  if (waiting > 0) verdict.why += fmt::format("; {} pulled and not heard yet", waiting);
  return verdict;
}

}  // namespace goodside::plan
