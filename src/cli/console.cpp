#include "cli/console.hpp"

#include <algorithm>
#include <ostream>

namespace goodside::cli {

Exit exit_of(Fault fault) {
  switch (fault) {
    case Fault::bad_input:
    case Fault::out_of_range:
    case Fault::not_found:
    case Fault::conflict:
    case Fault::io:
      return Exit::unusable;
    case Fault::not_converged:
      break;
  }
  return Exit::our_fault;
}

int Console::refuse(const Error& error) {
  // Text from a file or a library may carry line ends; the promise is one line.
  std::string line = error.text;
  std::replace_if(
      line.begin(), line.end(), [](unsigned char c) { return c < 0x20 || c == 0x7f; }, ' ');
  err_ << "goodside" << (command_.empty() ? "" : " ") << command_ << ": " << line << '\n';
  return static_cast<int>(exit_of(error.fault));
}

}  // namespace goodside::cli
