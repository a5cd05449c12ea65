#pragma once
#include <cstdint>
#include <set>
#include <string>
#include <string_view>

#include "base/result.hpp"

namespace goodside::works {

enum class PartKind { lacquer, wax, father, mother, stamper };
enum class PartState { growing, finishing, ready, on_press, resting, withdrawn, scrapped };

/// What is done to a part. Mounted and unmounted come from mountings, never by hand.
enum class Step {
  silvered,
  passivated,
  grown,
  separated,
  faced,
  chromium_stripped,
  backed,
  washed,
  centred,
  punched,
  trimmed,
  inspected,
  failed_inspection,
  washed_on_press,
  repaired,
  horns_removed,
  ticks_removed,
  mounted,
  unmounted,
  withdrawn,
  taken_back,
  scrapped
};

[[nodiscard]] std::string_view word(PartKind);
[[nodiscard]] std::string_view word(PartState);
[[nodiscard]] std::string_view word(Step);
// Errors of the three: Fault::bad_input, naming the words there are.
Result<PartKind> read_part_kind(std::string_view typed);
Result<PartState> read_part_state(std::string_view typed);
Result<Step> read_step(std::string_view typed);

/// A part as the rules see it.
struct Part {
  std::string code;
  PartKind kind{PartKind::stamper};
  PartState state{PartState::growing};
  std::int64_t face{};  ///< 0: never faced; each facing after a stripping begins the next
  bool faced{};         ///< it carries a face now
  bool presses{};       ///< a stamper, or a father that is used on a press
  std::set<Step> done{};
};

/// The part after the step, or why its state forbids it. Order of finishing, common practice, no
/// source: separated, faced, backed, centred, punched, trimmed, inspected; only what presses is
/// punched, and it must be before it is ready. Errors: Fault::conflict.
Result<Part> after(Part part, Step step);

/// What the parent must be for `child` to begin to grow on it, one growth at a time, each on a
/// fresh separating film.
struct Parent {
  Part part{};
  std::int64_t films{};     ///< times silvered or passivated
  std::int64_t children{};  ///< grown so far
  bool another_growing{};
};
/// Lacquer or wax -> father -> mother -> stamper. Errors: Fault::conflict with the reason.
Outcome may_grow(PartKind child, const Parent& parent);

}  // namespace goodside::works
