#pragma once
#include <mutex>
#include <string>
#include <vector>

#include "json/node.hpp"
#include "serve/asked.hpp"
#include "serve/store.hpp"

namespace goodside::serve {

/// A file that a calculation can read.
struct GivenFile {
  std::string id, name;
  std::string folder;  ///< of the works: recipes, presses, plans; empty: somebody gave it
  std::string path{};
  std::int64_t bytes{}, at_ms{};
};

/// Tables, recipes and photographs for calculations: what somebody gave (kept by its content in
/// serve/given, the oldest going when they are more than 1 GB), and what lies in the works' own folders
/// recipes/, presses/ and plans/. A page names a file by its id alone; a path never comes from outside.
/// From any thread; throws Stop.
class GivenFiles {
 public:
  GivenFiles(std::string works, Store& store) : works_{std::move(works)}, store_{store} {}

  /// `name` as the giver calls it; its ending says what it is.
  GivenFile keep(const std::string& name, const BodyReader& read_body, const std::string& who);
  /// The works' own first, by name; then what was given, the newest first.
  [[nodiscard]] std::vector<GivenFile> list();
  [[nodiscard]] GivenFile find(const std::string& id);

 private:
  [[nodiscard]] static std::string arrived(const BodyReader& read_body);
  void make_room(std::int64_t bytes);
  [[nodiscard]] std::string path_of(const std::string& id) const;

  std::string works_;
  Store& store_;
  std::mutex guard_;
};

[[nodiscard]] json::Node given_node(const GivenFile& file);

}  // namespace goodside::serve
