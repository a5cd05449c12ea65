#include "plan/schedule_graph.hpp"

#include <algorithm>
#include <map>
#include <numeric>

#include "base/expects.hpp"

namespace goodside::plan {

// ---- ShopIndex

ShopIndex::ShopIndex(const ShopModel& model) : model_{model}, calendars_{model.calendars} {
  const std::size_t count = model.operations.size();
  std::vector<std::vector<int>> next(count);
  is_last_.assign(count, 1);
  std::map<std::array<int, most_needs>, int> known;
  std::vector<std::vector<int>> last(model.orders.size());
  for (std::size_t i = 0; i < count; ++i) {
    const ShopOperation& operation = model.operations[i];
    needs_.push_back(operation.needs.size());
    for (const ShopAfter& after : operation.after) {
      const auto from = static_cast<std::size_t>(after.operation);
      next[from].push_back(static_cast<int>(i));
      if (model.operations[from].order == operation.order) is_last_[from] = 0;
    }
    first_joined_.push_back(joined_.size());
    std::array<std::size_t, most_needs> sizes{1, 1, 1};
    for (std::size_t k = 0; k < operation.needs.size(); ++k) sizes[k] = operation.needs[k].size();
    for (std::size_t a = 0; a < sizes[0]; ++a)
      for (std::size_t b = 0; b < sizes[1]; ++b)
        for (std::size_t c = 0; c < sizes[2]; ++c) {
          std::array<int, most_needs> key{no_matter, no_matter, no_matter};
          const std::array<std::size_t, most_needs> chosen{a, b, c};
          for (std::size_t k = 0; k < operation.needs.size(); ++k)
            key[k] =
                model.units[static_cast<std::size_t>(operation.needs[k][chosen[k]].unit)].calendar;
          const auto [place, fresh] = known.try_emplace(key, static_cast<int>(calendars_.size()));
          if (fresh) {
            ShopCalendar both;
            for (const int one : key)
              if (one != no_matter)
                both = ShopCalendar::both(both, model.calendars[static_cast<std::size_t>(one)]);
            calendars_.push_back(std::move(both));
          }
          joined_.push_back(place->second);
        }
  }
  for (std::size_t i = 0; i < count; ++i) {
    first_.push_back(successors_.size());
    successors_.insert(successors_.end(), next[i].begin(), next[i].end());
    if (is_last_[i])
      last[static_cast<std::size_t>(model.operations[i].order)].push_back(static_cast<int>(i));
  }
  first_.push_back(successors_.size());
  for (const auto& works : last) {
    first_last_.push_back(last_.size());
    last_.insert(last_.end(), works.begin(), works.end());
  }
  first_last_.push_back(last_.size());
  double sum = 0.0;
  for (const ShopOrder& order : model.orders) sum += order.weight;
  if (sum > 0.0) mean_weight_ = sum / static_cast<double>(model.orders.size());
}

const ShopCalendar& ShopIndex::joined(std::size_t operation,
                                      const std::array<int, most_needs>& choice) const {
  const auto& needs = model_.operations[operation].needs;
  std::size_t place = 0;
  for (std::size_t k = 0; k < needs.size(); ++k)
    place = place * needs[k].size() + static_cast<std::size_t>(choice[k]);
  return calendars_[static_cast<std::size_t>(joined_[first_joined_[operation] + place])];
}

std::int64_t ShopIndex::change_s(int unit, int from, int to) const {
  const ShopUnit& on = model_.units[static_cast<std::size_t>(unit)];
  const auto& is =
      from == no_matter ? on.mounted : model_.operations[static_cast<std::size_t>(from)].setting;
  const auto& wants = model_.operations[static_cast<std::size_t>(to)].setting;
  std::int64_t sum_s = 0;
  for (std::size_t k = 0; k < change_kinds; ++k)
    if (wants[k] != no_matter && wants[k] != is[k]) sum_s += on.change_s[k];
  return sum_s;
}

// ---- ScheduleGraph

ScheduleGraph::ScheduleGraph(const ShopIndex& index, const ShopSchedule& schedule)
    : index_{index}, works_{schedule.works}, list_{schedule.sequence} {
  const std::size_t count = index.count();
  EXPECTS(works_.size() == count && list_.size() == count);
  links_.resize(count * most_needs);
  place_.resize(count);
  marked_.assign(count, 0);
  in_closure_.assign(count, 0);
  const auto units = index.model().units.size(), orders = index.model().orders.size();
  head_.assign(units, no_matter);
  tail_.assign(units, no_matter);
  order_end_s_.assign(orders, 0);
  order_late_.assign(orders, 0.0);
  touched_order_.assign(orders, 0);
  for (std::size_t p = 0; p < count; ++p) {
    const int operation = list_[p];
    place_[at(operation)] = static_cast<int>(p);
    for (int k = 0; k < static_cast<int>(index.needs(at(operation))); ++k) {
      const auto on = at(unit(operation, k));
      insert(operation, k, tail_[on]);
    }
    place_work(operation, works_[at(operation)]);
  }
  for (const PlacedWork& work : works_) cost_.change_s += work.change_s;
  for (std::size_t order = 0; order < orders; ++order) {
    order_end_s_[order] = end_of_order(order);
    const ShopOrder& one = index.model().orders[order];
    order_late_[order] = one.weight * static_cast<double>(std::max<std::int64_t>(
                                          0, order_end_s_[order] - one.due_s));
  }
  sum_cost();
}

int ScheduleGraph::unit(int operation, int need) const {
  return index_.model()
      .operations[at(operation)]
      .needs[at(need)][at(works_[at(operation)].choice[at(need)])]
      .unit;
}

std::int64_t ScheduleGraph::end_of_order(std::size_t order) const {
  std::int64_t end_s = 0;
  for (const int work : index_.last_works(order)) end_s = std::max(end_s, works_[at(work)].end_s);
  return end_s;
}

void ScheduleGraph::sum_cost() {
  cost_.late = 0.0;
  cost_.end_s = 0;
  for (std::size_t order = 0; order < order_late_.size(); ++order) {
    cost_.late += order_late_[order];
    cost_.end_s = std::max(cost_.end_s, order_end_s_[order]);
  }
}

void ScheduleGraph::place_work(int operation, PlacedWork& work) const {
  const ShopOperation& what = index_.model().operations[at(operation)];
  std::int64_t ready_s = what.release_s;
  for (const ShopAfter& after : what.after)
    ready_s = std::max(ready_s, works_[at(after.operation)].end_s + after.lag_s);
  work.change_s = 0;
  for (std::size_t k = 0; k < what.needs.size(); ++k) {
    const int number = what.needs[k][at(work.choice[k])].unit;
    const ShopUnit& on = index_.model().units[at(number)];
    const int before = link(operation, static_cast<int>(k)).before;
    std::int64_t free_s = on.free_from_s;
    if (before != no_matter) free_s = std::max(free_s, works_[at(before)].end_s);
    if (k == 0) {
      work.change_s = index_.change_s(number, before, operation);
      if (work.change_s > 0)
        free_s = index_.model().calendars[at(on.calendar)].after(free_s, work.change_s);
    }
    ready_s = std::max(ready_s, free_s);
  }
  if (what.fixed) {
    work.start_s = what.fixed->start_s;
    work.end_s = what.fixed->end_s;
    return;
  }
  if (what.needs.empty()) {
    work.start_s = ready_s;
    work.end_s = ready_s + what.wait_s;
    return;
  }
  const auto placed = index_.joined(at(operation), work.choice)
                          .place(ready_s, what.needs[0][at(work.choice[0])].work_s, what.pauses);
  work.start_s = placed.start_s;
  work.end_s = placed.end_s;
}

ScheduleGraph::Holder ScheduleGraph::holder(int operation) const {
  const ShopOperation& what = index_.model().operations[at(operation)];
  Holder holder;
  std::int64_t ready_s = what.release_s;
  const PlacedWork& work = works_[at(operation)];
  if (what.fixed) return holder;
  for (std::size_t k = 0; k < what.needs.size(); ++k) {
    const int before = link(operation, static_cast<int>(k)).before;
    if (before == no_matter) continue;
    std::int64_t free_s = works_[at(before)].end_s;
    if (k == 0 && work.change_s > 0) {
      const ShopUnit& on = index_.model().units[at(unit(operation, 0))];
      free_s = index_.model().calendars[at(on.calendar)].after(free_s, work.change_s);
    }
    if (free_s >= ready_s) {
      ready_s = free_s;
      holder = {before, static_cast<int>(k)};
    }
  }
  for (const ShopAfter& after : what.after)
    if (works_[at(after.operation)].end_s + after.lag_s > ready_s) {
      ready_s = works_[at(after.operation)].end_s + after.lag_s;
      holder = {after.operation, no_matter};
    }
  return holder;
}

int ScheduleGraph::need_on(int operation, int unit_number) const {
  for (int k = 0; k < static_cast<int>(index_.needs(at(operation))); ++k)
    if (unit(operation, k) == unit_number) return k;
  return no_matter;
}

void ScheduleGraph::unlink(int operation, int need) {
  Link& own = link(operation, need);
  const int on = unit(operation, need);
  if (own.before != no_matter)
    link(own.before, need_in(own.before, on)).behind = own.behind;
  else
    head_[at(on)] = own.behind;
  if (own.behind != no_matter)
    link(own.behind, need_in(own.behind, on)).before = own.before;
  else
    tail_[at(on)] = own.before;
  own = {};
}

void ScheduleGraph::insert(int operation, int need, int behind) {
  const int on = unit(operation, need);
  Link& own = link(operation, need);
  own.before = behind;
  if (behind != no_matter) {
    Link& other = link(behind, need_in(behind, on));
    own.behind = other.behind;
    other.behind = operation;
  } else {
    own.behind = head_[at(on)];
    head_[at(on)] = operation;
  }
  if (own.behind != no_matter)
    link(own.behind, need_in(own.behind, on)).before = operation;
  else
    tail_[at(on)] = operation;
}

void ScheduleGraph::mark(int operation) {
  if (marked_[at(operation)]) return;
  marked_[at(operation)] = 1;
  marked_to_ = std::max(marked_to_, place_[at(operation)]);
  marked_from_ = std::min(marked_from_, place_[at(operation)]);
}

/// Brings `operation` behind `until` in the list, with all between that must come after it. False where `until`
/// itself must.
bool ScheduleGraph::shift_later(int operation, int until) {
  const int from = place_[at(operation)], to = place_[at(until)];
  moved_.clear();
  stayed_.clear();
  bool circle = false;
  in_closure_[at(operation)] = 1;
  moved_.push_back(operation);
  for (int p = from + 1; p <= to && !circle; ++p) {
    const int other = list_[at(p)];
    bool comes_after = false;
    for (const ShopAfter& after : index_.model().operations[at(other)].after)
      comes_after = comes_after || in_closure_[at(after.operation)];
    for (int k = 0; !comes_after && k < static_cast<int>(index_.needs(at(other))); ++k) {
      const int before = link(other, k).before;
      comes_after = before != no_matter && in_closure_[at(before)];
    }
    if (comes_after) {
      if (other == until) circle = true;
      in_closure_[at(other)] = 1;
      moved_.push_back(other);
    } else {
      stayed_.push_back(other);
    }
  }
  for (const int other : moved_) in_closure_[at(other)] = 0;
  if (circle) return false;
  segment_from_ = from;
  segment_.assign(list_.begin() + from, list_.begin() + to + 1);
  int p = from;
  for (const auto* part : {&stayed_, &moved_})
    for (const int other : *part) {
      list_[at(p)] = other;
      place_[at(other)] = p++;
    }
  return true;
}

/// Brings `operation` before `until` in the list, with all between that must come before it.
bool ScheduleGraph::shift_earlier(int operation, int until) {
  const int from = place_[at(until)], to = place_[at(operation)];
  moved_.clear();
  stayed_.clear();
  std::vector<int>& asked = touched_orders_;  // of works here: those in the closure, to be cleared
  asked.clear();
  const auto ask = [&](int work) {
    for (const ShopAfter& after : index_.model().operations[at(work)].after)
      if (place_[at(after.operation)] >= from && !in_closure_[at(after.operation)]) {
        in_closure_[at(after.operation)] = 1;
        asked.push_back(after.operation);
      }
    for (int k = 0; k < static_cast<int>(index_.needs(at(work))); ++k) {
      const int before = link(work, k).before;
      if (before != no_matter && place_[at(before)] >= from && !in_closure_[at(before)]) {
        in_closure_[at(before)] = 1;
        asked.push_back(before);
      }
    }
  };
  ask(operation);
  moved_.push_back(operation);
  for (int p = to - 1; p >= from; --p) {
    const int other = list_[at(p)];
    if (in_closure_[at(other)]) {
      if (other == until) break;
      moved_.push_back(other);
      ask(other);
    } else {
      stayed_.push_back(other);
    }
  }
  const bool circle = in_closure_[at(until)] != 0;
  for (const int other : asked) in_closure_[at(other)] = 0;
  asked.clear();
  if (circle) return false;
  segment_from_ = from;
  segment_.assign(list_.begin() + from, list_.begin() + to + 1);
  int p = from;
  for (const auto* part : {&moved_, &stayed_})
    for (auto other = part->rbegin(); other != part->rend(); ++other) {
      list_[at(p)] = *other;
      place_[at(*other)] = p++;
    }
  return true;
}

/// The list is put in order so that `operation` stands between the two; its own link in the chain is out.
bool ScheduleGraph::make_room(int operation, int behind, int before) {
  segment_.clear();
  if (behind != no_matter && place_[at(operation)] < place_[at(behind)])
    return shift_later(operation, behind);
  if (before != no_matter && place_[at(operation)] > place_[at(before)])
    return shift_earlier(operation, before);
  return true;
}

bool ScheduleGraph::apply(const Move& move) {
  const auto& operations = index_.model().operations;
  const int need = move.need;
  if (operations[at(move.operation)].fixed || move.behind == move.operation) return false;
  PlacedWork& work = works_[at(move.operation)];
  back_ = {.operation = move.operation,
           .need = need,
           .choice = work.choice[at(need)],
           .behind = link(move.operation, need).before};
  const int old_next = link(move.operation, need).behind;
  if (back_.choice == move.choice && back_.behind == move.behind) return false;
  changed_.clear();
  orders_were_.clear();
  cost_was_ = cost_;
  const int on = operations[at(move.operation)].needs[at(need)][at(move.choice)].unit;
  unlink(move.operation, need);
  const int next =
      move.behind == no_matter ? head_[at(on)] : link(move.behind, need_in(move.behind, on)).behind;
  if ((next != no_matter && operations[at(next)].fixed) ||
      !make_room(move.operation, move.behind, next)) {
    insert(move.operation, need, back_.behind);
    return false;
  }
  changed_.push_back({move.operation, work});
  work.choice[at(need)] = move.choice;
  insert(move.operation, need, move.behind);
  marked_from_ = static_cast<int>(list_.size());
  marked_to_ = -1;
  mark(move.operation);
  if (old_next != no_matter) mark(old_next);
  if (next != no_matter) mark(next);
  sweep();
  return true;
}

void ScheduleGraph::sweep() {
  touched_orders_.clear();
  for (int p = marked_from_; p <= marked_to_; ++p) {
    const int operation = list_[at(p)];
    if (!marked_[at(operation)]) continue;
    marked_[at(operation)] = 0;
    PlacedWork& work = works_[at(operation)];
    const PlacedWork was = work;
    place_work(operation, work);
    if (work.start_s == was.start_s && work.end_s == was.end_s && work.change_s == was.change_s)
      continue;
    changed_.push_back({operation, was});
    cost_.change_s += work.change_s - was.change_s;
    if (work.end_s == was.end_s) continue;
    for (const int next : index_.successors(at(operation))) mark(next);
    for (int k = 0; k < static_cast<int>(index_.needs(at(operation))); ++k)
      if (const int next = link(operation, k).behind; next != no_matter) mark(next);
    if (index_.is_last(at(operation))) {
      const auto order = at(index_.model().operations[at(operation)].order);
      if (!touched_order_[order]) {
        touched_order_[order] = 1;
        touched_orders_.push_back(static_cast<int>(order));
      }
    }
  }
  for (const int number : touched_orders_) {
    const auto order = at(number);
    touched_order_[order] = 0;
    orders_were_.push_back({order, {order_end_s_[order], order_late_[order]}});
    order_end_s_[order] = end_of_order(order);
    const ShopOrder& one = index_.model().orders[order];
    order_late_[order] = one.weight * static_cast<double>(std::max<std::int64_t>(
                                          0, order_end_s_[order] - one.due_s));
  }
  if (!touched_orders_.empty()) sum_cost();
}

void ScheduleGraph::take_back() {
  unlink(back_.operation, back_.need);
  // The first entry is the moved work as it was, before its choice was changed.
  for (auto one = changed_.rbegin(); one != changed_.rend(); ++one)
    works_[at(one->operation)] = one->was;
  insert(back_.operation, back_.need, back_.behind);
  for (std::size_t k = 0; k < segment_.size(); ++k) {
    list_[at(segment_from_) + k] = segment_[k];
    place_[at(segment_[k])] = segment_from_ + static_cast<int>(k);
  }
  for (const auto& [order, was] : orders_were_) {
    order_end_s_[order] = was.first;
    order_late_[order] = was.second;
  }
  cost_ = cost_was_;
}

ShopSchedule ScheduleGraph::schedule() const {
  return {.works = works_, .sequence = list_, .order_end_s = order_end_s_, .cost = cost_};
}

}  // namespace goodside::plan
