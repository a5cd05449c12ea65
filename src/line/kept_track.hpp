#pragma once
#include <string>

#include "base/result.hpp"
#include "disc/equalisation.hpp"
#include "listen/window_audio.hpp"

namespace goodside::line {

/// What an analysis kept (listen::Kept), with the files and the curve that it was heard through.
struct KeptTrack {
  std::string capture{}, reference{};  ///< paths as the analysis had them
  bool reference_played{};             ///< heard through the curve too
  std::string equalise{};              ///< the playback curve, as disc::curve reads it; empty: none
  listen::Kept kept;
};

/// The curve so that disc::curve reads it again, by its name or its time constants.
[[nodiscard]] std::string curve_text(const disc::Curve& curve);

/// Writes it to a compressed file: little-endian, numbers as they are, so that a window is made
/// again bit for bit; the groove's radius as 257 points over the programme, between which it is
/// straight (the groove's speed then is within 1e-6 at constant pitch). A 20-minute side takes some
/// 0.6 MB. Errors: Fault::io; nothing is then left behind.
Outcome write_kept(const std::string& path, const KeptTrack& track);

/// Reads one back. Errors: Fault::not_found, Fault::io; Fault::bad_input where it is no such file,
/// cut short, or holds what no analysis kept.
Result<KeptTrack> read_kept(const std::string& path);

}  // namespace goodside::line
