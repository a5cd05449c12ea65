#include "json/family.hpp"

#include "fuzz/require.hpp"
#include "json/trace_report.hpp"

// Any text as a family file, as a report that is traced, and as a trace.

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace goodside;
  const auto text = fuzz::text_of(data, size);
  if (const auto family = json::read_family(text); !family) fuzz::require_clear(family.error());
  if (const auto play = json::read_heard_play(text); !play) fuzz::require_clear(play.error());
  const auto trace = json::read_trace(text);
  if (!trace) {
    fuzz::require_clear(trace.error());
    return 0;
  }
  const std::string written = json::write(*trace);
  const auto again = json::read_trace(written);
  fuzz::require(again.has_value(), "a trace that was read can be written and read", written);
  return 0;
}
