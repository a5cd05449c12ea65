#pragma once
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "plan/shop_model.hpp"

namespace goodside::plan {

/// The model laid out flat for a search that asks millions of times. Borrows the model.
class ShopIndex {
 public:
  explicit ShopIndex(const ShopModel& model);

  [[nodiscard]] const ShopModel& model() const { return model_; }
  [[nodiscard]] std::size_t count() const { return needs_.size(); }
  [[nodiscard]] std::size_t needs(std::size_t operation) const { return needs_[operation]; }
  /// The calendar of the units chosen together.
  [[nodiscard]] const ShopCalendar& joined(std::size_t operation,
                                           const std::array<int, most_needs>& choice) const;
  [[nodiscard]] std::span<const int> successors(std::size_t operation) const {
    return {successors_.data() + first_[operation], successors_.data() + first_[operation + 1]};
  }
  /// Works of the order that nothing of it waits for: the order ends with the last of them.
  [[nodiscard]] std::span<const int> last_works(std::size_t order) const {
    return {last_.data() + first_last_[order], last_.data() + first_last_[order + 1]};
  }
  [[nodiscard]] bool is_last(std::size_t operation) const { return is_last_[operation]; }
  /// The time of changing `unit` over from one work (no_matter: what is mounted) to the next.
  [[nodiscard]] std::int64_t change_s(int unit, int from, int to) const;
  [[nodiscard]] double mean_weight() const { return mean_weight_; }

 private:
  const ShopModel& model_;
  std::vector<std::size_t> needs_, first_, first_last_, first_joined_;
  std::vector<int> successors_, last_, joined_;
  std::vector<char> is_last_;
  std::vector<ShopCalendar> calendars_;
  double mean_weight_{1.0};
};

/// A plan as a disjunctive graph [Roy and Sussmann 1964]: the works of each unit in a chain, all works in one list
/// that agrees with every chain and every wait. Each work begins as early as its predecessors let it, so that times
/// are the longest paths. A move takes one work elsewhere in a chain or to another unit, works out what changes, and
/// can be taken back. Not thread-safe: a copy a thread.
class ScheduleGraph {
 public:
  /// As `schedule` places them: its sequence and choices are kept, times are worked out anew.
  ScheduleGraph(const ShopIndex& index, const ShopSchedule& schedule);

  /// Where a work may be put: need `need` of `operation`, by `choice`, right after the work `behind` in that unit's
  /// chain (no_matter: first).
  struct Move {
    int operation{}, need{}, choice{}, behind{no_matter};
  };
  /// False, with nothing changed, where the move would make a circle or disturb what is fixed.
  bool apply(const Move& move);
  /// The last move applied, taken back; once.
  void take_back();

  [[nodiscard]] const PlanCost& cost() const { return cost_; }
  [[nodiscard]] ShopSchedule schedule() const;
  [[nodiscard]] const ShopIndex& index() const { return index_; }

  [[nodiscard]] std::int64_t start_s(int operation) const { return works_[at(operation)].start_s; }
  [[nodiscard]] std::int64_t end_s(int operation) const { return works_[at(operation)].end_s; }
  [[nodiscard]] const PlacedWork& work(int operation) const { return works_[at(operation)]; }
  [[nodiscard]] std::int64_t order_end_s(std::size_t order) const { return order_end_s_[order]; }
  /// Before and after in the chain of the need's unit; no_matter at its ends.
  [[nodiscard]] int before(int operation, int need) const { return link(operation, need).before; }
  [[nodiscard]] int behind(int operation, int need) const { return link(operation, need).behind; }
  [[nodiscard]] int first_of(int unit) const { return head_[at(unit)]; }
  [[nodiscard]] int last_of(int unit) const { return tail_[at(unit)]; }
  [[nodiscard]] int place(int operation) const { return place_[at(operation)]; }
  [[nodiscard]] int unit(int operation, int need) const;
  /// Which of its needs a work meets on that unit; no_matter: none.
  [[nodiscard]] int need_on(int operation, int unit) const;

  /// What holds a work back from beginning earlier.
  struct Holder {
    int operation{no_matter};  ///< no_matter: its release, its unit's first freedom, or nothing
    int need{no_matter};  ///< in whose chain it stands before; no_matter: the order's own sequence
  };
  [[nodiscard]] Holder holder(int operation) const;

 private:
  struct Link {
    int before{no_matter}, behind{no_matter};
  };
  struct Changed {
    int operation;
    PlacedWork was;
  };
  static std::size_t at(int number) { return static_cast<std::size_t>(number); }
  [[nodiscard]] const Link& link(int operation, int need) const {
    return links_[at(operation) * most_needs + at(need)];
  }
  Link& link(int operation, int need) { return links_[at(operation) * most_needs + at(need)]; }

  void place_work(int operation, PlacedWork& work) const;
  void unlink(int operation, int need);
  void insert(int operation, int need, int behind);
  [[nodiscard]] int need_in(int operation, int unit) const { return need_on(operation, unit); }
  bool make_room(int operation, int behind, int before);
  bool shift_later(int operation, int until);
  bool shift_earlier(int operation, int until);
  void mark(int operation);
  void sweep();
  void sum_cost();
  std::int64_t end_of_order(std::size_t order) const;

  const ShopIndex& index_;
  std::vector<PlacedWork> works_;
  std::vector<Link> links_;
  std::vector<int> list_, place_, head_, tail_;
  std::vector<std::int64_t> order_end_s_;
  std::vector<double> order_late_;
  PlanCost cost_;
  // Of the move at hand.
  std::vector<char> marked_, touched_order_;
  int marked_from_{}, marked_to_{-1};
  std::vector<Changed> changed_;
  std::vector<std::pair<std::size_t, std::pair<std::int64_t, double>>> orders_were_;
  std::vector<int> segment_, moved_, stayed_, touched_orders_;
  std::vector<char> in_closure_;
  int segment_from_{};
  Move back_;
  PlanCost cost_was_;
};

}  // namespace goodside::plan
