#include "serve/given_files.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <filesystem>
#include <string_view>

#include "base/sha256.hpp"
#include "intake/safe_file.hpp"
#include "serve/nodes.hpp"
#include "serve/records.hpp"

namespace goodside::serve {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t largest_file = std::size_t{32} << 20;
constexpr std::int64_t most_bytes = std::int64_t{1} << 30;
constexpr std::size_t longest_name = 120, most_of_folder = 500;
constexpr std::array<std::string_view, 6> endings{"csv", "toml", "json", "png", "jpg", "jpeg"};
constexpr std::array<std::string_view, 3> own_folders{"recipes", "presses", "plans"};

/// In small letters; nothing where no calculation reads such a file.
std::string ending_of(const std::string& name) {
  std::string ending = fs::path{name}.extension().string();
  if (!ending.empty()) ending.erase(0, 1);
  std::ranges::transform(
      ending, ending.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return std::ranges::find(endings, ending) == endings.end() ? std::string{} : ending;
}

void check_name(const std::string& name) {
  if (name.empty() || name.size() > longest_name ||
      std::ranges::any_of(name, [](unsigned char c) { return c < 0x20 || c == 0x7f || c == '/'; }))
    throw Stop{400, fmt::format("name: give the file's name, of 1 to {} bytes", longest_name)};
  if (ending_of(name).empty())
    throw Stop{415,
               fmt::format("{}: give a table (.csv), a description (.toml, .json) or a photograph "
                           "(.png, .jpg)",
                           name)};
}

GivenFile file_of(const ledger::Values& row) {
  return {.id = ledger::text(row[0]),
          .name = ledger::text(row[1]),
          .folder = {},
          .path = {},
          .bytes = ledger::whole(row[2]),
          .at_ms = ledger::whole(row[3])};
}

}  // namespace

std::string GivenFiles::path_of(const std::string& id) const {
  return works_ + "/serve/given/" + id;
}

/// Whole in memory, one at a time: that bounds it.
std::string GivenFiles::arrived(const BodyReader& read_body) {
  std::string bytes;
  bool too_much = false;
  const bool whole = !read_body || read_body([&](std::string_view piece) {
    too_much = too_much || bytes.size() + piece.size() > largest_file;
    if (!too_much) bytes += piece;
    return true;  // read on, so that the answer can be sent
  });
  if (too_much) throw Stop{413, fmt::format("give at most {} MB", largest_file >> 20)};
  if (!whole) throw Stop{400, "the file broke off on its way; give it again"};
  if (bytes.empty()) throw Stop{400, "the file is empty"};
  return bytes;
}

GivenFile GivenFiles::keep(const std::string& name,
                           const BodyReader& read_body,
                           const std::string& who) {
  check_name(name);
  const std::lock_guard one_at_a_time{guard_};
  const std::string bytes = arrived(read_body);
  std::error_code problem;
  fs::create_directories(works_ + "/serve/given", problem);
  const GivenFile file{.id = sha256_hexadecimal(bytes).substr(0, 32) + "." + ending_of(name),
                       .name = name,
                       .folder = {},
                       .path = {},
                       .bytes = static_cast<std::int64_t>(bytes.size()),
                       .at_ms = now_ms()};
  make_room(file.bytes);
  if (const auto kept = intake::write_whole(path_of(file.id), bytes); !kept)
    throw Stop{503, kept.error().text};
  store_.run(
      "INSERT INTO given_file (id, name, bytes, who, at_ms) VALUES ($1, $2, $3, $4, $5) ON "
      "CONFLICT "
      "(id) DO UPDATE SET name = excluded.name, at_ms = excluded.at_ms",
      {file.id, file.name, file.bytes, who, file.at_ms});
  return file;
}

void GivenFiles::make_room(std::int64_t bytes) {
  std::int64_t kept = bytes;
  for (const auto& row :
       store_.ask("SELECT id, name, bytes, at_ms FROM given_file ORDER BY at_ms DESC, id")) {
    const GivenFile file = file_of(row);
    kept += file.bytes;
    if (kept <= most_bytes) continue;
    std::error_code ignored;
    fs::remove(path_of(file.id), ignored);
    store_.run("DELETE FROM given_file WHERE id = $1", {file.id});
  }
}

std::vector<GivenFile> GivenFiles::list() {
  std::vector<GivenFile> files;
  for (const std::string_view folder : own_folders) {
    std::error_code problem;
    std::vector<GivenFile> own;
    for (const auto& entry : fs::directory_iterator{fs::path{works_} / folder, problem}) {
      const std::string name = entry.path().filename().string();
      std::error_code none;
      if (ending_of(name).empty() || !entry.is_regular_file(none) || own.size() >= most_of_folder)
        continue;
      own.push_back({.id = fmt::format("{}/{}", folder, name),
                     .name = name,
                     .folder = std::string{folder},
                     .path = entry.path().string(),
                     .bytes = static_cast<std::int64_t>(entry.file_size(none))});
    }
    std::ranges::sort(own, {}, &GivenFile::name);
    files.insert(files.end(), own.begin(), own.end());
  }
  for (const auto& row : store_.ask(
           "SELECT id, name, bytes, at_ms FROM given_file ORDER BY at_ms DESC, id LIMIT 200")) {
    files.push_back(file_of(row));
    files.back().path = path_of(files.back().id);
  }
  return files;
}

GivenFile GivenFiles::find(const std::string& id) {
  const auto files = list();
  const auto found = std::ranges::find(files, id, &GivenFile::id);
  std::error_code none;
  if (found == files.end() || !fs::exists(found->path, none))
    throw Stop{422, fmt::format("there is no file {} here; give it again", id.substr(0, 80))};
  return *found;
}

json::Node given_node(const GivenFile& file) {
  return Object{{"id", file.id},
                {"name", file.name},
                {"folder", or_null(file.folder)},
                {"bytes", file.bytes},
                {"at_ms", file.at_ms == 0 ? json::Node{} : json::Node{file.at_ms}}};
}

}  // namespace goodside::serve
