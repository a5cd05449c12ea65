#pragma once
#include <string>

namespace goodside::draw {

/// The style sheet of a page: the palette by day, in the dark and on paper.
[[nodiscard]] std::string page_style();
/// For comfort alone: one sound at a time.
[[nodiscard]] std::string page_script();

}  // namespace goodside::draw
