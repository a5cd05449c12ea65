#pragma once
#include <cstdint>
#include <string>

#include "base/result.hpp"

namespace goodside::intake {

/// The samples of an uncompressed container as its header promises them and as the file holds them,
/// in bytes.
struct ContainerSize {
  enum class Kind { other, riff, rf64, w64, aiff };
  Kind kind{Kind::other};
  std::uint64_t file_bytes{};
  std::uint64_t promised_bytes{};  ///< of sample data, from the header; 0 for Kind::other
  std::uint64_t present_bytes{};   ///< of those, how many the file is long enough to hold
  bool open_ended{};  ///< the size field was never filled in (all ones, or zero before data)
  bool wrapped{};     ///< more than 4 GiB in a container that counts to 4 GiB
};

/// Walks the chunk headers of a WAV (RIFF, RIFX), RF64 or BW64, W64 or AIFF file. Needed because
/// libsndfile silently shortens a truncated file and takes a wrapped size at its word. Sources:
/// RIFF and WAVE by Microsoft and IBM 1991; RF64 by EBU Tech 3306; BW64 by ITU-R BS.2088; W64 and
/// AIFF
///          from memory. Files of another kind come back as Kind::other.
/// Errors:  Fault::io when the file cannot be read.
Result<ContainerSize> container_size(const std::string& path);

}  // namespace goodside::intake
