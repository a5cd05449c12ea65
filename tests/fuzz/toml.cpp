#include "fuzz/require.hpp"
#include "intake/bench_profile.hpp"
#include "intake/dispatch_settings.hpp"
#include "intake/limits.hpp"
#include "intake/trace_costs.hpp"

// Any text as goodside.toml: limits, benches, costs and how discs are packed.

namespace goodside {
namespace {

constexpr const char* name = "goodside.toml";
constexpr const char* format = "12in-33";

/// What was read is what is written: a second reading gives the same text.
void require_limits_return(const works::Limits& limits) {
  const std::string text = intake::limits_toml(limits, format);
  const auto again = intake::limits_from_toml(text, name, format);
  fuzz::require(again.has_value(), "limits that were read can be written and read", text);
  fuzz::require(intake::limits_toml(*again, format) == text, "limits return unchanged", text);
}

void require_sane(const intake::BenchProfile& bench) {
  fuzz::require(bench.arm_length_m.has_value() == bench.arm_mount_m.has_value(),
                "arm length and mounting go together");
  fuzz::require(!bench.arm_length_m || *bench.arm_length_m > *bench.arm_mount_m,
                "an arm reaches over the spindle");
}

}  // namespace
}  // namespace goodside

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace goodside;
  const auto text = fuzz::text_of(data, size);
  if (const auto limits = intake::limits_from_toml(text, name, format); limits)
    require_limits_return(*limits);
  else
    fuzz::require_clear(limits.error(), name);
  if (const auto bench = intake::bench_from_toml(text, name, "one"); bench)
    require_sane(*bench);
  else
    fuzz::require_clear(bench.error(), name);
  if (const auto costs = intake::costs_from_toml(text, name); costs) {
    for (const auto& item : works::cost_items)
      fuzz::require(
          works::may_be(item, (*costs).*item.value), "every cost can be", std::string{text});
  } else {
    fuzz::require_clear(costs.error(), name);
  }
  if (const auto packing = intake::dispatch_settings_from_toml(text, name); !packing)
    fuzz::require_clear(packing.error(), name);
  return 0;
}
