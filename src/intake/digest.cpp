#include "intake/digest.hpp"

#include <openssl/evp.h>

#include <array>
#include <cstdio>
#include <memory>
#include <vector>

namespace goodside::intake {

Result<std::string> sha256_of_file(const std::string& path) {
  constexpr std::size_t block_bytes = std::size_t{1} << 20;
  const Error unreadable{Fault::io,
                         path + ": cannot be read to its end for its SHA-256; copy it again"};

  const std::unique_ptr<std::FILE, int (*)(std::FILE*)> file{std::fopen(path.c_str(), "rb"),
                                                             &std::fclose};
  if (!file) return unreadable;
  std::setvbuf(file.get(), nullptr, _IONBF, 0);
  const std::unique_ptr<EVP_MD_CTX, void (*)(EVP_MD_CTX*)> context{EVP_MD_CTX_new(),
                                                                   &EVP_MD_CTX_free};
  if (!context || EVP_DigestInit_ex(context.get(), EVP_sha256(), nullptr) != 1)
    return Error{Fault::io,
                 "SHA-256 of the OpenSSL library cannot be started; mend its installation"};

  std::vector<unsigned char> block(block_bytes);
  while (const std::size_t got = std::fread(block.data(), 1, block.size(), file.get()))
    EVP_DigestUpdate(context.get(), block.data(), got);
  if (std::ferror(file.get()) != 0) return unreadable;

  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned int bytes = 0;
  EVP_DigestFinal_ex(context.get(), digest.data(), &bytes);
  std::string text;
  for (unsigned int i = 0; i < bytes; ++i) {
    constexpr char digits[] = "0123456789abcdef";
    text += digits[digest[i] >> 4U];
    text += digits[digest[i] & 15U];
  }
  return text;
}

}  // namespace goodside::intake
