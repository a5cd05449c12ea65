#pragma once
#include <cstddef>
#include <cstdint>
#include <vector>

namespace goodside::plan {

/// Beyond every plan: the time of what can never happen.
inline constexpr std::int64_t never_s = std::int64_t{1} << 50;

struct OpenSpan {
  std::int64_t from_s{}, to_s{};  ///< open in [from_s, to_s), counted from the plan's now
};

/// When something may work: always, or in spans that lie apart in order of time. Whole seconds, so that no plan
/// hangs on rounding. O(log n) in the spans.
class ShopCalendar {
 public:
  ShopCalendar() = default;  ///< always open
  /// Spans in any order; those that touch or overlap become one, empty ones none. No span at all: never open.
  explicit ShopCalendar(std::vector<OpenSpan> open);

  struct Placed {
    std::int64_t start_s{}, end_s{};
  };
  /// The earliest work of `work_s` that begins at `ready_s` or later: with `pauses` it rests while closed and goes
  /// on; without, it must fit into one span. never_s where it cannot be placed.
  [[nodiscard]] Placed place(std::int64_t ready_s, std::int64_t work_s, bool pauses) const;
  /// When `work_s` of open time has passed since `from_s`.
  [[nodiscard]] std::int64_t after(std::int64_t from_s, std::int64_t work_s) const;
  /// Open seconds in [from_s, to_s).
  [[nodiscard]] std::int64_t open_between(std::int64_t from_s, std::int64_t to_s) const;

  [[nodiscard]] bool always() const { return always_; }
  [[nodiscard]] const std::vector<OpenSpan>& spans() const { return spans_; }

  /// Open where both are.
  static ShopCalendar both(const ShopCalendar& one, const ShopCalendar& other);
  /// Without what lies in `closed`.
  [[nodiscard]] ShopCalendar without(const std::vector<OpenSpan>& closed) const;

  bool operator==(const ShopCalendar& other) const;

 private:
  [[nodiscard]] std::size_t span_at(std::int64_t time_s) const;  ///< the first that ends after it
  [[nodiscard]] std::int64_t open_until(std::int64_t time_s) const;

  bool always_{true};
  std::vector<OpenSpan> spans_;
  std::vector<std::int64_t> before_s_;  ///< open time before each span
};

}  // namespace goodside::plan
