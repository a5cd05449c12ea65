#include "cli/standing_text.hpp"

namespace goodside::cli {

using draw::Standing;

std::string_view shape(Standing standing) {
  switch (standing) {
    case Standing::good:
      return "●";
    case Standing::out:
    case Standing::not_this_cut:
      return "▲";
    case Standing::unjudged:
      break;
  }
  return "○";
}

std::string coloured(Standing standing, const std::string& text, bool colour) {
  if (!colour) return text;
  switch (standing) {
    case Standing::good:
      return "\x1b[1;34m" + text + "\x1b[0m";  // blue
    case Standing::out:
    case Standing::not_this_cut:
      return "\x1b[1;33m" + text + "\x1b[0m";  // the terminal's orange
    case Standing::unjudged:
      break;
  }
  return "\x1b[1m" + text + "\x1b[0m";
}

}  // namespace goodside::cli
