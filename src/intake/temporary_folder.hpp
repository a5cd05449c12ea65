#pragma once
#include <string>

#include "base/result.hpp"

namespace goodside::intake {

/// A folder of its own for files that nobody keeps, where the system wants such (TMPDIR); gone with all that is in
/// it when this goes.
class TemporaryFolder {
 public:
  /// Errors: Fault::io when the system gives none.
  static Result<TemporaryFolder> create();

  TemporaryFolder(TemporaryFolder&& other) noexcept;
  TemporaryFolder& operator=(TemporaryFolder&& other) noexcept;
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  ~TemporaryFolder();

  [[nodiscard]] std::string file(const std::string& name) const { return path_ + "/" + name; }

 private:
  TemporaryFolder() = default;
  std::string path_;
};

}  // namespace goodside::intake
