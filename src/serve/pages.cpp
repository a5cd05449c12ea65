#include "serve/pages.hpp"

#include <fmt/format.h>

#include <array>
#include <filesystem>

#include "base/sha256.hpp"
#include "intake/safe_file.hpp"

namespace goodside::serve {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t largest_file = std::size_t{16} << 20;

constexpr std::array<std::pair<std::string_view, const char*>, 13> types{
    {{".html", "text/html; charset=utf-8"},
     {".js", "text/javascript; charset=utf-8"},
     {".mjs", "text/javascript; charset=utf-8"},
     {".css", "text/css; charset=utf-8"},
     {".json", "application/json"},
     {".webmanifest", "application/manifest+json"},
     {".svg", "image/svg+xml"},
     {".png", "image/png"},
     {".ico", "image/x-icon"},
     {".woff2", "font/woff2"},
     {".txt", "text/plain; charset=utf-8"},
     {".wasm", "application/wasm"},
     {".map", "application/json"}}};

constexpr const char* not_built =
    "The pages are not built. Build web/ (npm run build), or start with --pages DIR.\n"
    "The interface for programs answers under /api.\n";

const char* type_of(const fs::path& path) {
  const std::string ending = path.extension().string();
  for (const auto& [known, type] : types)
    if (ending == known) return type;
  return "application/octet-stream";
}

/// Names of letters, digits and - _ . only, none beginning with a dot: nothing leads out of the folder.
bool is_plain(std::string_view path) {
  char before = '/';
  for (const char letter : path) {
    const bool plain = (letter >= 'a' && letter <= 'z') || (letter >= 'A' && letter <= 'Z') ||
                       (letter >= '0' && letter <= '9') || letter == '-' || letter == '_' ||
                       letter == '.' || letter == '/';
    if (!plain || (letter == '.' && before == '/')) return false;
    before = letter;
  }
  return true;
}

struct Coding {
  const char *name, *ending;
};

}  // namespace

Answer Pages::answer(const Asked& asked) const {
  if (folder_.empty())
    return {.status = asked.path == "/" ? 200 : 404,
            .type = "text/plain; charset=utf-8",
            .body = not_built};
  fs::path file = fs::path{folder_} / "index.html";
  const bool plain = is_plain(asked.path);
  std::error_code ignored;
  if (plain && asked.path.size() > 1) {
    const fs::path asked_for = fs::path{folder_} / asked.path.substr(1);
    if (fs::is_regular_file(asked_for, ignored))
      file = asked_for;
    else if (asked_for.has_extension())
      return refusal(404, "there is no such file");
  }
  Answer page{.type = type_of(file)};
  auto bytes = intake::read_whole(file.string(), largest_file);
  if (!bytes) return refusal(404, "there is no such page");
  const std::string tag = fmt::format("\"{}\"", sha256_hexadecimal(*bytes).substr(0, 24));
  page.headers.emplace_back("ETag", tag);
  page.headers.emplace_back("Vary", "Accept-Encoding");
  page.headers.emplace_back("Cache-Control",
                            file.parent_path().filename() == "assets"
                                ? "public, max-age=31536000, immutable"
                                : "no-cache");
  if (asked.header("If-None-Match") == tag) {
    page.status = 304;
    return page;
  }
  page.body = std::move(*bytes);
  const std::string accepted = asked.header("Accept-Encoding");
  for (const Coding& coding : {Coding{"br", ".br"}, Coding{"gzip", ".gz"}}) {
    if (accepted.find(coding.name) == std::string::npos) continue;
    auto packed = intake::read_whole(file.string() + coding.ending, largest_file);
    if (!packed) continue;
    page.body = std::move(*packed);
    page.headers.emplace_back("Content-Encoding", coding.name);
    page.packed = true;
    break;
  }
  return page;
}

std::string find_pages(const std::string& program) {
  std::error_code ignored;
  const fs::path beside = fs::path{program}.parent_path();
  if (const fs::path installed = beside.parent_path() / "share" / "goodside" / "web";
      fs::exists(installed / "index.html", ignored))
    return installed.string();
  for (fs::path above = beside; above.has_relative_path(); above = above.parent_path())
    if (fs::exists(above / "web" / "dist" / "index.html", ignored))
      return (above / "web" / "dist").string();
  return {};
}

}  // namespace goodside::serve
