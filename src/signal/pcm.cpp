#include "signal/pcm.hpp"

#include <bit>
#include <cstddef>
#include <cstdint>
#include <cstring>

#include "base/expects.hpp"
#include "signal/clones.hpp"

namespace goodside::signal {
namespace {

constexpr float scale_16 = 1.0F / 32768.0F;
constexpr float scale_32 = 1.0F / 2147483648.0F;

using Bytes [[gnu::vector_size(16)]] = unsigned char;
using Integers [[gnu::vector_size(16)]] = std::int32_t;
using Floats [[gnu::vector_size(16)]] = float;
constexpr std::size_t wide = 4;  // samples to a register

/// Each sample's three bytes become the upper ones of an integer.
GOODSIDE_CLONES void unpack_24(const unsigned char* bytes, float* samples, std::size_t count) {
  std::size_t j = 0;
  // A register takes in four bytes more than its four samples have.
  for (; 3 * j + sizeof(Bytes) <= 3 * count; j += wide) {
    Bytes packed;
    std::memcpy(&packed, bytes + 3 * j, sizeof packed);
    const Bytes apart = __builtin_shufflevector(
        packed, Bytes{}, 16, 0, 1, 2, 16, 3, 4, 5, 16, 6, 7, 8, 16, 9, 10, 11);
    const Floats values =
        __builtin_convertvector(std::bit_cast<Integers>(apart), Floats) * scale_32;
    std::memcpy(samples + j, &values, sizeof values);
  }
  for (; j < count; ++j) {
    const auto at = [&](std::size_t k) { return static_cast<std::uint32_t>(bytes[3 * j + k]); };
    const std::uint32_t bits = at(0) << 8U | at(1) << 16U | at(2) << 24U;
    samples[j] = static_cast<float>(static_cast<std::int32_t>(bits)) * scale_32;
  }
}

GOODSIDE_CLONES void unpack_16(const unsigned char* bytes, float* samples, std::size_t count) {
  for (std::size_t j = 0; j < count; ++j) {
    std::int16_t value = 0;
    std::memcpy(&value, bytes + 2 * j, sizeof value);
    samples[j] = static_cast<float>(value) * scale_16;
  }
}

}  // namespace

void unpack_16_bits(std::span<const unsigned char> bytes, std::span<float> samples) {
  EXPECTS(bytes.size() == 2 * samples.size());
  unpack_16(bytes.data(), samples.data(), samples.size());
}

void unpack_24_bits(std::span<const unsigned char> bytes, std::span<float> samples) {
  EXPECTS(bytes.size() == 3 * samples.size());
  unpack_24(bytes.data(), samples.data(), samples.size());
}

}  // namespace goodside::signal
