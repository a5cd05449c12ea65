#include "intake/digest.hpp"

#include <cstdio>
#include <memory>
#include <vector>

#include "base/sha256.hpp"

namespace goodside::intake {

Result<std::string> sha256_of_file(const std::string& path) {
  constexpr std::size_t block_bytes = std::size_t{1} << 17;  // stays in the nearer cache
  const Error unreadable{Fault::io,
                         path + ": cannot be read to its end for its SHA-256; copy it again"};

  const std::unique_ptr<std::FILE, int (*)(std::FILE*)> file{std::fopen(path.c_str(), "rb"),
                                                             &std::fclose};
  if (!file) return unreadable;
  std::setvbuf(file.get(), nullptr, _IONBF, 0);

  Sha256 hash;
  std::vector<char> block(block_bytes);
  while (const std::size_t got = std::fread(block.data(), 1, block.size(), file.get()))
    hash.take({block.data(), got});
  if (std::ferror(file.get()) != 0) return unreadable;

  return hexadecimal(hash.finish());
}

}  // namespace goodside::intake
