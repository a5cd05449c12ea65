#include "plan/shop_calendar.hpp"

#include <algorithm>

namespace goodside::plan {

ShopCalendar::ShopCalendar(std::vector<OpenSpan> open) : always_{false} {
  std::sort(open.begin(), open.end(), [](const OpenSpan& one, const OpenSpan& other) {
    return one.from_s < other.from_s;
  });
  for (const OpenSpan& span : open) {
    if (span.to_s <= span.from_s) continue;
    if (!spans_.empty() && span.from_s <= spans_.back().to_s)
      spans_.back().to_s = std::max(spans_.back().to_s, span.to_s);
    else
      spans_.push_back(span);
  }
  std::int64_t sum_s = 0;
  for (const OpenSpan& span : spans_) {
    before_s_.push_back(sum_s);
    sum_s += span.to_s - span.from_s;
  }
}

std::size_t ShopCalendar::span_at(std::int64_t time_s) const {
  return static_cast<std::size_t>(
      std::upper_bound(spans_.begin(),
                       spans_.end(),
                       time_s,
                       [](std::int64_t time, const OpenSpan& span) { return time < span.to_s; }) -
      spans_.begin());
}

ShopCalendar::Placed ShopCalendar::place(std::int64_t ready_s,
                                         std::int64_t work_s,
                                         bool pauses) const {
  if (always_) return {ready_s, ready_s + work_s};
  for (std::size_t k = span_at(ready_s); k < spans_.size(); ++k) {
    const std::int64_t start_s = std::max(ready_s, spans_[k].from_s);
    if (start_s + work_s <= spans_[k].to_s) return {start_s, start_s + work_s};
    if (pauses) return {start_s, after(start_s, work_s)};
  }
  return {never_s, never_s};
}

std::int64_t ShopCalendar::after(std::int64_t from_s, std::int64_t work_s) const {
  if (work_s <= 0) return from_s;
  if (always_) return from_s + work_s;
  const std::size_t first = span_at(from_s);
  if (first == spans_.size()) return never_s;
  const std::int64_t done_s =
      before_s_[first] + std::max<std::int64_t>(0, from_s - spans_[first].from_s) + work_s;
  // Mostly the same span or the next.
  std::size_t k = first;
  if (done_s > before_s_[k] + spans_[k].to_s - spans_[k].from_s) {
    k = static_cast<std::size_t>(
            std::lower_bound(
                before_s_.begin() + static_cast<std::ptrdiff_t>(first), before_s_.end(), done_s) -
            before_s_.begin()) -
        1;
  }
  const std::int64_t end_s = spans_[k].from_s + done_s - before_s_[k];
  return end_s <= spans_[k].to_s ? end_s : never_s;
}

std::int64_t ShopCalendar::open_until(std::int64_t time_s) const {
  const std::size_t k = span_at(time_s);
  if (k == spans_.size())
    return spans_.empty() ? 0 : before_s_.back() + spans_.back().to_s - spans_.back().from_s;
  return before_s_[k] + std::max<std::int64_t>(0, time_s - spans_[k].from_s);
}

std::int64_t ShopCalendar::open_between(std::int64_t from_s, std::int64_t to_s) const {
  if (to_s <= from_s) return 0;
  return always_ ? to_s - from_s : open_until(to_s) - open_until(from_s);
}

ShopCalendar ShopCalendar::both(const ShopCalendar& one, const ShopCalendar& other) {
  if (one.always_) return other;
  if (other.always_) return one;
  std::vector<OpenSpan> common;
  for (std::size_t i = 0, k = 0; i < one.spans_.size() && k < other.spans_.size();) {
    const OpenSpan &left = one.spans_[i], &right = other.spans_[k];
    common.push_back({std::max(left.from_s, right.from_s), std::min(left.to_s, right.to_s)});
    ++(left.to_s < right.to_s ? i : k);
  }
  return ShopCalendar{std::move(common)};
}

ShopCalendar ShopCalendar::without(const std::vector<OpenSpan>& closed) const {
  const ShopCalendar shut{closed};
  std::vector<OpenSpan> rest;
  std::int64_t from_s = -never_s;
  for (const OpenSpan& span : shut.spans_) {
    rest.push_back({from_s, span.from_s});
    from_s = span.to_s;
  }
  rest.push_back({from_s, never_s});
  return both(*this, ShopCalendar{std::move(rest)});
}

bool ShopCalendar::operator==(const ShopCalendar& other) const {
  return always_ == other.always_ && std::equal(spans_.begin(),
                                                spans_.end(),
                                                other.spans_.begin(),
                                                other.spans_.end(),
                                                [](const OpenSpan& left, const OpenSpan& right) {
                                                  return left.from_s == right.from_s &&
                                                         left.to_s == right.to_s;
                                                });
}

}  // namespace goodside::plan
