#include "intake/temporary_folder.hpp"

#include <cstdlib>
#include <filesystem>
#include <system_error>
#include <utility>

namespace goodside::intake {

namespace fs = std::filesystem;

Result<TemporaryFolder> TemporaryFolder::create() {
  std::error_code failed;
  const fs::path where = fs::temp_directory_path(failed);
  std::string path = (where / "goodside-XXXXXX").string();
  if (failed || mkdtemp(path.data()) == nullptr)
    return Error{
        Fault::io,
        "no folder for temporary files; set TMPDIR to one that can be written and has room"};
  TemporaryFolder folder;
  folder.path_ = std::move(path);
  return folder;
}

TemporaryFolder::TemporaryFolder(TemporaryFolder&& other) noexcept
    : path_{std::exchange(other.path_, {})} {}

TemporaryFolder& TemporaryFolder::operator=(TemporaryFolder&& other) noexcept {
  std::swap(path_, other.path_);
  return *this;
}

TemporaryFolder::~TemporaryFolder() {
  std::error_code ignored;
  if (!path_.empty()) fs::remove_all(path_, ignored);
}

}  // namespace goodside::intake
