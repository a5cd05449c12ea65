#include "serve/passwords.hpp"

#include <sodium.h>

#include <array>

#include "base/expects.hpp"

namespace goodside::serve {
namespace {

void ready() {
  static const int begun = sodium_init();
  EXPECTS(begun >= 0);
}

}  // namespace

std::optional<std::string> keep_password(const std::string& password) {
  ready();
  std::array<char, crypto_pwhash_STRBYTES> kept{};
  if (crypto_pwhash_str_alg(kept.data(),
                            password.data(),
                            password.size(),
                            crypto_pwhash_OPSLIMIT_INTERACTIVE,
                            crypto_pwhash_MEMLIMIT_INTERACTIVE,
                            crypto_pwhash_ALG_ARGON2ID13) != 0)
    return std::nullopt;
  return std::string{kept.data()};
}

bool is_password(const std::string& kept, const std::string& password) {
  ready();
  return crypto_pwhash_str_verify(kept.c_str(), password.data(), password.size()) == 0;
}

std::string random_token() {
  ready();
  std::array<unsigned char, 32> bytes{};
  randombytes_buf(bytes.data(), bytes.size());
  std::array<char, 65> text{};
  sodium_bin2hex(text.data(), text.size(), bytes.data(), bytes.size());
  return std::string{text.data()};
}

bool same_secret(std::string_view a, std::string_view b) {
  return a.size() == b.size() && sodium_memcmp(a.data(), b.data(), a.size()) == 0;
}

}  // namespace goodside::serve
