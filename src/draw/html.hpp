#pragma once
#include <string>
#include <string_view>
#include <vector>

namespace goodside::draw::html {

/// Text as it may stand in HTML, in an attribute's quotes too: & < > " ' as references, bytes that are no UTF-8
/// and control characters replaced.
[[nodiscard]] std::string escaped(std::string_view text);

/// `data:MIME;base64,…` [RFC 2397, RFC 4648].
[[nodiscard]] std::string data_uri(std::string_view mime, std::string_view bytes);

/// A table: heads, then rows of cells, all escaped here. A head that ends with '|' makes its column one of words,
/// set to the left; the others are figures.
struct Table {
  std::string caption;
  std::vector<std::string> heads;
  std::vector<std::vector<std::string>> rows;
};
/// In a frame that scrolls by itself where the page is narrow.
[[nodiscard]] std::string table(const Table&);
/// Folded away under its summary.
[[nodiscard]] std::string details(std::string_view summary, std::string_view inside);

}  // namespace goodside::draw::html
