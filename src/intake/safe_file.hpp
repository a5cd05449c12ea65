#pragma once
#include <cstddef>
#include <span>
#include <string>
#include <string_view>

#include "base/result.hpp"

namespace goodside::intake {

/// A file that appears whole or not at all. The bytes go to a temporary name beside the target,
/// which takes the target's name in `commit`; a SafeFile that goes away uncommitted takes the
/// temporary file with it. A target that is a link is followed; one that is no ordinary file (a
/// folder, a device) is refused.
class SafeFile {
 public:
  static Result<SafeFile> create(const std::string& path);

  SafeFile(SafeFile&&) noexcept;
  SafeFile& operator=(SafeFile&&) noexcept;
  SafeFile(const SafeFile&) = delete;
  SafeFile& operator=(const SafeFile&) = delete;
  ~SafeFile();

  /// The open descriptor, for a library that writes by itself; SafeFile keeps it and closes it.
  [[nodiscard]] int descriptor() const { return descriptor_; }
  [[nodiscard]] const std::string& temporary_path() const { return temporary_path_; }

  Outcome write(std::string_view bytes);
  /// Brings the bytes to the disk and gives the file its name. Errors: Fault::io; nothing is then
  /// left behind.
  Outcome commit();

 private:
  SafeFile() = default;
  void discard() noexcept;

  std::string shown_path_, target_path_, temporary_path_;
  int descriptor_{-1};
};

/// Writes a whole file (text, JSON, a picture) or, on failure, nothing. Errors: Fault::io.
Outcome write_whole(const std::string& path, std::string_view bytes);

struct FileBytes {
  std::string path;
  std::string bytes;
};

/// Writes several files that belong together: none takes its name before the bytes of all are written.
/// Errors: Fault::io; nothing is then left behind, unless the folder changed between two names.
Outcome write_together(std::span<const FileBytes> files);

inline constexpr std::size_t largest_text_bytes = std::size_t{1} << 20;

/// Reads a whole file of at most `largest_bytes`.
/// Errors: Fault::not_found; Fault::bad_input for a folder or a file that is larger; Fault::io.
Result<std::string> read_whole(const std::string& path,
                               std::size_t largest_bytes = largest_text_bytes);

}  // namespace goodside::intake
