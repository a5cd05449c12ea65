#pragma once
#include <cstdint>
#include <map>
#include <mutex>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "base/sha256.hpp"
#include "json/node.hpp"
#include "serve/asked.hpp"
#include "serve/jobs.hpp"
#include "serve/records.hpp"
#include "serve/store.hpp"

namespace goodside::serve {

struct Upload {
  std::string id{}, name{}, ticket{}, letter{}, after{}, bench{}, sha256{}, who{}, kept_as{}, job{};
  std::int64_t bytes{}, at_ms{}, offset{};
};

/// What somebody announces.
struct NewUpload {
  std::string name, ticket, letter, after{"as found"}, bench{}, sha256{};
  std::int64_t bytes{};
};

/// Captures on their way in. Their bytes stream to incoming/ in the works folder and are hashed on
/// the way; a piece is acknowledged when it is on the disk, and a broken one goes on from there, also
/// after the server was killed. A whole one is checked, takes its place in captures/, is entered in
/// the record, and its analysis is queued, before the last piece is acknowledged. From any thread;
/// throws Stop.
class Uploads {
 public:
  Uploads(std::string folder, Store& store, Records& records, Jobs& jobs);

  /// What somebody would bring, checked, with the ticket's code and an id; nothing is kept of it yet.
  [[nodiscard]] Upload expect(const NewUpload& upload, const std::string& who);
  Upload announce(const NewUpload& upload, const std::string& who);
  /// A capture that lies whole in incoming/ under its own name goes the way of one that was sent. The
  /// same again, after a server was killed in the midst of it, goes on.
  Upload adopt(const Upload& upload, const std::string& path);
  [[nodiscard]] Upload find(const std::string& id);
  [[nodiscard]] std::vector<Upload> unfinished();
  Upload append(const std::string& id, std::int64_t offset, const BodyReader& read_body);
  void give_up(const std::string& id);

  /// Takes up what an earlier server left: whole captures are finished, old ones removed.
  void sweep();

 private:
  class Held;
  [[nodiscard]] std::string part_path(const std::string& id) const;
  std::int64_t write_on(const Upload& upload, const BodyReader& read_body);
  Upload finish(Upload upload);
  void finish_kept(const Upload& upload);
  void insert(const Upload& upload);
  [[nodiscard]] std::string hash_of(const Upload& upload);
  [[nodiscard]] std::string known_capture(const Upload& upload);
  void remove(const std::string& id);

  std::string folder_;
  Store& store_;
  Records& records_;
  Jobs& jobs_;
  std::mutex finishing_, guard_;
  std::set<std::string> held_;  ///< that a request writes to
  struct Running {
    Sha256 hash;
    std::int64_t hashed{};
  };
  std::map<std::string, Running> hashes_;
};

[[nodiscard]] json::Node upload_node(const Upload& upload);

}  // namespace goodside::serve
