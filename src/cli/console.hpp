#pragma once
#include <iosfwd>
#include <string>
#include <string_view>

#include "base/error.hpp"

namespace goodside::cli {

/// 0 done and within limits, 1 done and outside limits, 2 the request or its input cannot be used,
/// 3 our own fault.
enum class Exit : int { within_limits = 0, outside_limits = 1, unusable = 2, our_fault = 3 };

/// The one table from Fault to exit status.
[[nodiscard]] Exit exit_of(Fault fault);

/// Where a command speaks. `out` is for the answer, `err` for errors and progress.
class Console {
 public:
  struct Terminal {
    bool colour{};    ///< out is a terminal and NO_COLOR is unset
    bool progress{};  ///< err is a terminal
  };

  Console(std::ostream& out, std::ostream& err, Terminal terminal)
      : out_{out}, err_{err}, terminal_{terminal} {}

  [[nodiscard]] std::ostream& out() { return out_; }
  [[nodiscard]] std::ostream& err() { return err_; }
  [[nodiscard]] bool colour() const { return terminal_.colour; }
  [[nodiscard]] bool progress() const { return terminal_.progress; }

  /// Says the error in one line on `err` and returns its exit status:
  ///   return console.refuse(side.error());
  int refuse(const Error& error);

  /// The subcommand that now speaks; run_line sets it, error lines begin with it.
  void speak_as(std::string_view command) { command_ = command; }

 private:
  std::ostream& out_;
  std::ostream& err_;
  Terminal terminal_;
  std::string command_;
};

}  // namespace goodside::cli
