#include "base/sha256.hpp"

#include <openssl/evp.h>

#include "base/expects.hpp"

namespace goodside {

struct Sha256::State {
  std::unique_ptr<EVP_MD_CTX, void (*)(EVP_MD_CTX*)> context{EVP_MD_CTX_new(), &EVP_MD_CTX_free};
  std::unique_ptr<EVP_MD, void (*)(EVP_MD*)> algorithm{EVP_MD_fetch(nullptr, "SHA256", nullptr),
                                                       &EVP_MD_free};
  void begin() const {
    EXPECTS(context && algorithm);
    EXPECTS(EVP_DigestInit_ex2(context.get(), algorithm.get(), nullptr) == 1);
  }
};

Sha256::Sha256() : state_{std::make_unique<State>()} {
  state_->begin();
}
Sha256::Sha256(Sha256&&) noexcept = default;
Sha256& Sha256::operator=(Sha256&&) noexcept = default;
Sha256::~Sha256() = default;

void Sha256::take(std::string_view bytes) {
  EXPECTS(EVP_DigestUpdate(state_->context.get(), bytes.data(), bytes.size()) == 1);
}

Sha256::Digest Sha256::finish() {
  Digest digest{};
  unsigned int size = 0;
  EXPECTS(EVP_DigestFinal_ex(state_->context.get(), digest.data(), &size) == 1);
  EXPECTS(size == digest.size());
  state_->begin();
  return digest;
}

std::string hexadecimal(const Sha256::Digest& digest) {
  constexpr std::string_view digits = "0123456789abcdef";
  std::string text;
  text.reserve(2 * digest.size());
  for (const unsigned byte : digest) {
    text += digits[byte >> 4U];
    text += digits[byte & 15U];
  }
  return text;
}

std::string sha256_hexadecimal(std::string_view bytes) {
  Sha256 hash;
  hash.take(bytes);
  return hexadecimal(hash.finish());
}

}  // namespace goodside
