#pragma once
#include <chrono>
#include <iosfwd>
#include <mutex>
#include <string>
#include <utility>

namespace goodside::cli {

/// A line on a terminal that shows how much is done, once the work has taken longer than a second;
/// wiped when it goes out of scope.
class ProgressBar {
 public:
  /// bar: as above; lines: "progress 0.42" now and then from the start, for a program that waits.
  enum class Shown { nothing, bar, lines };
  ProgressBar(std::ostream& err, Shown shown, std::string what);
  /// Silent when `shown` is false.
  ProgressBar(std::ostream& err, bool shown, std::string what)
      : ProgressBar{err, shown ? Shown::bar : Shown::nothing, std::move(what)} {}
  ProgressBar(const ProgressBar&) = delete;
  ProgressBar& operator=(const ProgressBar&) = delete;
  ~ProgressBar();

  /// Share done, 0 to 1. From any thread.
  void show(double share);

 private:
  using Clock = std::chrono::steady_clock;

  std::ostream& err_;
  Shown shown_;
  std::string what_;
  std::mutex guard_;
  Clock::time_point begun_{Clock::now()}, last_{};
  bool drawn_{};
};

/// "  42 %  [########............]  a.wav", at most 79 columns, no digit of the clock in it.
[[nodiscard]] std::string progress_line(double share, const std::string& what);

}  // namespace goodside::cli
