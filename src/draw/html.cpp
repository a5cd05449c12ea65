#include "draw/html.hpp"

#include <fmt/format.h>
#include <glib.h>

#include <algorithm>
#include <memory>

namespace goodside::draw::html {
namespace {

struct Free {
  void operator()(char* text) const { g_free(text); }
};
using Owned = std::unique_ptr<char, Free>;

}  // namespace

std::string escaped(std::string_view text) {
  const Owned valid{g_utf8_make_valid(text.data(), static_cast<gssize>(text.size()))};
  std::string plain{valid.get()};
  std::ranges::replace_if(
      plain, [](char c) { return (c >= 0 && c < ' ' && c != '\n') || c == 127; }, ' ');
  const Owned marked{g_markup_escape_text(plain.data(), static_cast<gssize>(plain.size()))};
  return marked.get();
}

std::string data_uri(std::string_view mime, std::string_view bytes) {
  const Owned coded{g_base64_encode(reinterpret_cast<const guchar*>(bytes.data()), bytes.size())};
  return fmt::format("data:{};base64,{}", mime, coded.get());
}

std::string table(const Table& table) {
  std::string text = fmt::format(
      "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"{0}\">\n"
      "<table><caption>{0}</caption>\n<thead><tr>",
      escaped(table.caption));
  std::vector<const char*> kinds;
  for (const std::string& head : table.heads) {
    const bool words = head.ends_with('|');
    kinds.push_back(words ? " class=\"words\"" : "");
    text += fmt::format("<th scope=\"col\"{}>{}</th>",
                        kinds.back(),
                        escaped(words ? head.substr(0, head.size() - 1) : head));
  }
  text += "</tr></thead>\n<tbody>\n";
  for (const auto& row : table.rows) {
    text += "<tr>";
    for (std::size_t i = 0; i < row.size(); ++i)
      text += fmt::format("<td{}>{}</td>", i < kinds.size() ? kinds[i] : "", escaped(row[i]));
    text += "</tr>\n";
  }
  return text + "</tbody></table></div>\n";
}

std::string details(std::string_view summary, std::string_view inside) {
  return fmt::format("<details><summary>{}</summary>\n{}</details>\n", escaped(summary), inside);
}

}  // namespace goodside::draw::html
