#pragma once
#include <string>
#include <string_view>

#include "draw/words.hpp"

namespace goodside::cli {

/// The standing's shape: filled circle, filled triangle, open circle.
[[nodiscard]] std::string_view shape(draw::Standing);

/// The text in the standing's colour, or as it is where no colour is wanted.
[[nodiscard]] std::string coloured(draw::Standing, const std::string& text, bool colour);

}  // namespace goodside::cli
