#pragma once
#include <array>
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

namespace goodside {

/// SHA-256 [FIPS 180-4] of bytes that arrive in pieces of any size.
class Sha256 {
 public:
  using Digest = std::array<std::uint8_t, 32>;

  Sha256();
  Sha256(Sha256&&) noexcept;
  Sha256& operator=(Sha256&&) noexcept;
  ~Sha256();

  void take(std::string_view bytes);
  /// The digest of all that was taken; the object then stands ready for the next message.
  Digest finish();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// Lower-case hexadecimal digits, two a byte.
[[nodiscard]] std::string hexadecimal(const Sha256::Digest&);

/// The digest of `bytes` as 64 hexadecimal digits.
[[nodiscard]] std::string sha256_hexadecimal(std::string_view bytes);

}  // namespace goodside
