#include "intake/safe_file.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <system_error>
#include <utility>
#include <vector>

namespace goodside::intake {
namespace {

std::string reason() {
  return std::generic_category().message(errno);
}

Error cannot_write(const std::string& path, const std::string& why) {
  return {
      Fault::io,
      fmt::format(
          "{}: cannot be written ({}); nothing was left behind, see to the folder and try again",
          path,
          why)};
}

}  // namespace

Result<SafeFile> SafeFile::create(const std::string& path) {
  namespace fs = std::filesystem;
  std::error_code problem;
  const fs::path target =
      fs::is_symlink(path, problem) ? fs::weakly_canonical(path, problem) : fs::path{path};
  const auto status = fs::status(target, problem);
  if (fs::is_directory(status) || !target.has_filename())
    return Error{Fault::bad_input, path + ": this is a folder; name the file to write in it"};
  if (fs::exists(status) && !fs::is_regular_file(status))
    return Error{Fault::bad_input, path + ": this is a pipe or a device; name an ordinary file"};

  // Unique among this program's threads by the count, among programs by the process, and O_EXCL has
  // the last word. Mode 0666 leaves the permissions to the user's umask, which mkstemp would not.
  static std::atomic<unsigned> count{0};
  SafeFile file;
  file.shown_path_ = path;
  file.target_path_ = target.string();
  for (int attempt = 0; attempt < 100 && file.descriptor_ < 0; ++attempt) {
    file.temporary_path_ = fmt::format("{}.part-{}-{}", file.target_path_, getpid(), count++);
    file.descriptor_ =
        open(file.temporary_path_.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (file.descriptor_ < 0 && errno != EEXIST) break;
  }
  if (file.descriptor_ < 0) return cannot_write(path, reason());
  return file;
}

SafeFile::SafeFile(SafeFile&& other) noexcept
    : shown_path_{std::move(other.shown_path_)},
      target_path_{std::move(other.target_path_)},
      temporary_path_{std::move(other.temporary_path_)},
      descriptor_{std::exchange(other.descriptor_, -1)} {}

SafeFile& SafeFile::operator=(SafeFile&& other) noexcept {
  if (this != &other) {
    discard();
    shown_path_ = std::move(other.shown_path_);
    target_path_ = std::move(other.target_path_);
    temporary_path_ = std::move(other.temporary_path_);
    descriptor_ = std::exchange(other.descriptor_, -1);
  }
  return *this;
}

SafeFile::~SafeFile() {
  discard();
}

void SafeFile::discard() noexcept {
  if (descriptor_ < 0) return;
  close(std::exchange(descriptor_, -1));
  unlink(temporary_path_.c_str());
}

Outcome SafeFile::write(std::string_view bytes) {
  if (descriptor_ < 0) return cannot_write(shown_path_, "it is closed");
  while (!bytes.empty()) {
    const ssize_t written = ::write(descriptor_, bytes.data(), bytes.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) return cannot_write(shown_path_, reason());
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
  return Done{};
}

Outcome SafeFile::commit() {
  if (descriptor_ < 0) return cannot_write(shown_path_, "it is closed");
  const bool stored = fsync(descriptor_) == 0;
  if (!stored || std::rename(temporary_path_.c_str(), target_path_.c_str()) != 0) {
    const std::string why = reason();
    discard();
    return cannot_write(shown_path_, why);
  }
  close(std::exchange(descriptor_, -1));
  return Done{};
}

Outcome write_whole(const std::string& path, std::string_view bytes) {
  auto file = SafeFile::create(path);
  if (!file) return file.error();
  if (auto outcome = file->write(bytes); !outcome) return outcome;
  return file->commit();
}

Outcome write_together(std::span<const FileBytes> files) {
  std::vector<SafeFile> written;
  for (const auto& [path, bytes] : files) {
    auto file = SafeFile::create(path);
    if (!file) return file.error();
    if (auto outcome = file->write(bytes); !outcome) return outcome;
    written.push_back(std::move(*file));
  }
  for (SafeFile& file : written)
    if (auto outcome = file.commit(); !outcome) return outcome;
  return Done{};
}

Result<std::string> read_whole(const std::string& path, std::size_t largest_bytes) {
  std::error_code problem;
  const auto status = std::filesystem::status(path, problem);
  if (status.type() == std::filesystem::file_type::not_found)
    return Error{Fault::not_found, path + ": there is no such file; check the name and the folder"};
  if (std::filesystem::is_directory(status))
    return Error{Fault::bad_input, path + ": this is a folder; name one file in it"};
  const std::unique_ptr<std::FILE, int (*)(std::FILE*)> file{std::fopen(path.c_str(), "rb"),
                                                             &std::fclose};
  if (!file)
    return Error{Fault::io,
                 fmt::format("{}: cannot be read ({}); see to its permissions", path, reason())};

  // Read in pieces rather than by the size that the file claims: a pipe has none, and a file may
  // grow.
  std::string text;
  std::string piece(std::size_t{1} << 16, '\0');
  while (const std::size_t got = std::fread(piece.data(), 1, piece.size(), file.get())) {
    text.append(piece, 0, got);
    if (text.size() > largest_bytes)
      return Error{Fault::bad_input,
                   fmt::format("{}: larger than {} bytes; this is not the file that was meant",
                               path,
                               largest_bytes)};
  }
  if (std::ferror(file.get()) != 0)
    return Error{Fault::io, path + ": reading breaks off; copy the file again"};
  return text;
}

}  // namespace goodside::intake
