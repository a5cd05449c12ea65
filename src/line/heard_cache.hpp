#pragma once
#include <string>
#include <string_view>
#include <unordered_map>

#include "base/result.hpp"
#include "works/heard_play.hpp"

namespace goodside::line {

/// The kept reports of one side as tracing needs them, so that each is unpacked and parsed once and a
/// new report costs no more than itself. A report's name is the digest of its bytes: what is held
/// under it never goes out of date. The file is this build's own; one that is damaged, or of another
/// build, counts as empty, and the reports are read again.
class HeardCache {
 public:
  explicit HeardCache(std::string path);

  /// Disc, side, play and cleaning are not held: the record tells them.
  [[nodiscard]] const works::HeardPlay* find(const std::string& report) const;
  void keep(const std::string& report, works::HeardPlay play);
  /// Writes what was added since. Errors: Fault::io; the answer does not depend on it.
  Outcome save();

 private:
  void read(std::string_view bytes);
  std::string path_;
  std::unordered_map<std::string, works::HeardPlay> plays_;
  bool changed_{};
};

}  // namespace goodside::line
