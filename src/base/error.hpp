#pragma once
#include <string>

namespace goodside {

/// What kind of thing went wrong; cli and serve each map it once to an exit status or an HTTP
/// status.
enum class Fault { bad_input, out_of_range, not_converged, not_found, conflict, io };

/// A failure as the person at the press reads it: one sentence with what, where and the mend.
struct Error {
  Fault fault{Fault::bad_input};
  std::string text;
};

}  // namespace goodside
