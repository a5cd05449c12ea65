#pragma once
#include <optional>
#include <string>

#include "serve/asked.hpp"

namespace goodside::serve {

/// The built pages: a folder with index.html and what it loads. A path that names no file and has no
/// ending is a place within the page, so index.html answers it. Files named by their content
/// (assets/) may be kept for a year; the rest is asked for again each time, with an ETag. Where a
/// .br or .gz lies beside a file and the browser takes it, that is sent.
class Pages {
 public:
  explicit Pages(std::string folder) : folder_{std::move(folder)} {}
  [[nodiscard]] Answer answer(const Asked& asked) const;

 private:
  std::string folder_;  ///< empty: none were built
};

/// Beside the program (installed), or web/dist above it (built); empty where neither is.
[[nodiscard]] std::string find_pages(const std::string& program);

}  // namespace goodside::serve
