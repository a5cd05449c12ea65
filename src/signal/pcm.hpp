#pragma once
#include <span>

namespace goodside::signal {

/// Packed little-endian integers of two's complement as floats, full scale 1: exact, since a float holds 24 bits.
/// `bytes` holds two, or three, for each of `samples`.
void unpack_16_bits(std::span<const unsigned char> bytes, std::span<float> samples);
void unpack_24_bits(std::span<const unsigned char> bytes, std::span<float> samples);

}  // namespace goodside::signal
