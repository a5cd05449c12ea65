#include "plan/switching.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <deque>

namespace goodside::plan {
namespace {

constexpr int score_for_reduced = 30, lots_looked_back = 5, most_not_accepted = 5;

class Judge {
 public:
  explicit Judge(const SwitchingRequest& request) : request_{request} {}

  Outcome take(const HeardLot& lot) {
    auto plan = plan_for(lot.lot, request_.quality_limit);
    if (!plan) return Error{plan.error().fault, lot.name + ": " + plan.error().text};
    const std::int64_t heard = lot.heard.value_or(plan->stages.back().heard);
    if (lot.flawed < 0 || lot.flawed > heard || heard > lot.lot)
      return Error{Fault::bad_input,
                   fmt::format("{}: {} flawed of {} heard in a lot of {}; flawed cannot be more "
                               "than heard, nor heard than the lot",
                               lot.name,
                               lot.flawed,
                               heard,
                               lot.lot)};
    if (heard < plan->stages.front().heard)
      return Error{
          Fault::bad_input,
          fmt::format("{}: {} heard; its plan asks for {}: hear the rest, or leave the lot "
                      "out",
                      lot.name,
                      heard,
                      plan->stages.front().heard)};
    JudgedLot judged{.name = lot.name, .inspection = history_.next, .plan = *plan};
    judged.accepted = lot.flawed < plan->stages.back().reject;
    const bool in_gap = judged.accepted && lot.flawed > plan->stages.back().accept;
    score(lot, judged);
    change(judged, in_gap);
    judged.score = score_;
    history_.lots.push_back(std::move(judged));
    return Done{};
  }
  SwitchingHistory history() && { return std::move(history_); }

 private:
  [[nodiscard]] Result<TablePlan> plan_for(std::int64_t lot, double limit) const {
    return table_plan({.lot = lot,
                       .quality_limit = limit,
                       .level = request_.level,
                       .inspection = history_.next,
                       .two_stages = request_.two_stages,
                       .edition = request_.edition});
  }

  void score(const HeardLot& lot, const JudgedLot& judged) {
    if (judged.inspection != Inspection::normal) return;
    const SamplingStage& first = judged.plan.stages.front();
    if (judged.plan.stages.size() > 1) {
      score_ = lot.flawed <= first.accept ? score_ + 3 : 0;
    } else if (first.accept < 2) {
      score_ = judged.accepted ? score_ + 2 : 0;
    } else {
      const auto limits = quality_limits();
      const auto at = std::ranges::find_if(
          limits, [&](double limit) { return limit > request_.quality_limit * (1.0 - 1e-9); });
      const auto tighter =
          at == limits.begin() ? Result<TablePlan>{judged.plan} : plan_for(lot.lot, *(at - 1));
      score_ = tighter && lot.flawed <= tighter->stages.back().accept ? score_ + 3 : 0;
    }
  }

  void go(Inspection next, JudgedLot& judged, std::string why) {
    history_.next = next;
    judged.switches = fmt::format("{}: {}", word(next), why);
    latest_.clear();
    score_ = 0;
    not_accepted_ = 0;
  }

  void change(JudgedLot& judged, bool in_gap) {
    latest_.push_back(judged.accepted);
    if (latest_.size() > lots_looked_back) latest_.pop_front();
    const auto bad = std::ranges::count(latest_, false);
    switch (judged.inspection) {
      case Inspection::normal:
        if (bad >= 2)
          go(Inspection::tightened, judged, "2 of 5 lots or fewer in a row not accepted");
        else if (score_ >= score_for_reduced && request_.steady)
          go(Inspection::reduced, judged, fmt::format("switching score {}", score_));
        return;
      case Inspection::tightened:
        not_accepted_ += judged.accepted ? 0 : 1;
        if (not_accepted_ >= most_not_accepted) {
          history_.stopped = true;
          judged.switches = "stop: 5 lots not accepted under tightened inspection";
        } else if (bad == 0 && latest_.size() == lots_looked_back) {
          go(Inspection::normal, judged, "5 lots in a row accepted");
        }
        return;
      case Inspection::reduced:
        if (!judged.accepted)
          go(Inspection::normal, judged, "a lot not accepted under reduced inspection");
        else if (in_gap)
          go(Inspection::normal, judged, "accepted, but between the two numbers");
        else if (!request_.steady)
          go(Inspection::normal, judged, "production is not steady");
        return;
    }
  }

  const SwitchingRequest& request_;
  SwitchingHistory history_;
  std::deque<bool> latest_;
  int score_{}, not_accepted_{};
};

}  // namespace

Result<SwitchingHistory> judge_lots(std::span<const HeardLot> lots,
                                    const SwitchingRequest& request) {
  Judge judge{request};
  for (const HeardLot& lot : lots)
    if (const auto taken = judge.take(lot); !taken) return taken.error();
  return std::move(judge).history();
}

}  // namespace goodside::plan
