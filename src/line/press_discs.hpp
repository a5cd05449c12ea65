#pragma once
#include <optional>
#include <string>

#include "line/desk.hpp"

namespace goodside::line {

/// A stamper pair goes on a press. Where another mounting is open there, it must be ended first;
/// `reason` says why this one begins (new order, cleaned, remounted …).
struct Mount {
  std::string press, stamper_a{}, stamper_b{};
  std::int64_t counter{};
  std::string reason{};
  std::optional<std::int64_t> at_ms{};
};
/// Errors: Fault::conflict where the press is taken, or a part's state forbids it.
Result<Entered> mount(const Desk& desk, const Mount& mount);

/// The mounting ends at a counter reading, not below the one it began with; its parts rest.
struct Unmount {
  std::string mounting;
  std::int64_t counter{};
  std::string reason{};
  std::optional<std::int64_t> at_ms{};
};
Result<Entered> unmount(const Desk& desk, const Unmount& unmount);

enum class Purpose { run, warm_up, purge };

/// So many closings of the press, in the open mounting on the run's press.
struct Pressing {
  std::string run;
  std::int64_t quantity{};
  /// The run's impression that comes next, where the station knows it: two stations that claim the
  /// same ones cannot both have them.
  std::optional<std::int64_t> from_impression{};
  Purpose purpose{
      Purpose::run};  ///< warm-up and purge discs go to scrap; all of them age the stampers
  std::optional<std::int64_t> counter{};  ///< of the press, after the last of them
  std::string batch{}, recipe{}, spindle{};
  std::optional<std::int64_t> at_ms{};
};
struct Pressed {
  Entered entered;
  std::int64_t first{}, last{};  ///< impressions of the run
};
/// A production run starts only when its order's test pressing is approved or waived.
/// Errors: Fault::conflict with the reason.
Result<Pressed> press_discs(const Desk& desk, const Pressing& pressing);

/// What became of an order's test pressings.
struct Approval {
  std::string order, decision;  ///< sent, approved, refused, waived
  std::string words{}, ticket{}, report{};
  std::optional<std::int64_t> at_ms{};
};
/// A refusal needs the customer's words, a waiver the reason; an approval the ticket of a disc from
/// a test run of the order, which then counts as heard and good. Errors: Fault::bad_input, Fault::conflict.
Result<Entered> enter_approval(const Desk& desk, const Approval& approval);

}  // namespace goodside::line
