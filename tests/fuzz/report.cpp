#include "fuzz/require.hpp"
#include "json/listening_report.hpp"

// Any text as a listening report.

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace goodside;
  const auto report = json::read(fuzz::text_of(data, size));
  if (!report) {
    fuzz::require_clear(report.error());
    return 0;
  }
  const std::string text = json::write(*report);
  const auto again = json::read(text);
  fuzz::require(again.has_value(), "a report that was read can be written and read", text);
  fuzz::require(json::write(*again) == text, "a report returns unchanged", text);
  return 0;
}
