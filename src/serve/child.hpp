#pragma once
#include <functional>
#include <string>
#include <vector>

#include "base/result.hpp"

namespace goodside::serve {

/// How a child of ours ended, and what it last said on standard error.
struct ChildEnd {
  int status{};  ///< of its exit; -1 where it was ended
  std::string last_words;
};

/// Runs `program` with `words` in `folder` at low priority, with nothing on standard input. What it
/// answers on standard output goes into the file `answer`, or is thrown away where that is empty.
/// `line` hears each line of its standard error; `go_on` is asked some five times a second and ends
/// it when it says no. The child ends with this process, however that ends.
/// Errors: Fault::io when it cannot be started.
Result<ChildEnd> run_child(const std::string& program,
                           const std::vector<std::string>& words,
                           const std::string& folder,
                           const std::function<void(const std::string&)>& line,
                           const std::function<bool()>& go_on,
                           const std::string& answer = {});

/// This program as a child can run it, also when its file was replaced meanwhile.
inline constexpr const char* this_program = "/proc/self/exe";
/// Where its file lies.
[[nodiscard]] std::string own_program();

}  // namespace goodside::serve
