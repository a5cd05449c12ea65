#pragma once

namespace goodside::cli {

/// While it lives, the first Ctrl-C (or a polite request to end) is noted instead of ending the
/// program; a second one ends it as usual. One at a time.
class StopWatch {
 public:
  StopWatch();
  StopWatch(const StopWatch&) = delete;
  StopWatch& operator=(const StopWatch&) = delete;
  ~StopWatch();

  /// True once somebody has asked to stop. From any thread.
  [[nodiscard]] static bool asked();
};

}  // namespace goodside::cli
