#pragma once
#include <functional>
#include <string>

#include "base/result.hpp"
#include "intake/audio_writer.hpp"
#include "works/player.hpp"
#include "works/truth.hpp"

namespace goodside::line {

/// One play of one simulated side, and where it goes.
struct Playing {
  std::string programme;  ///< path of the audio that was cut
  works::PlayedSide played;
  std::string capture;  ///< path of the capture to write
  std::string truth;    ///< path of its truth (goodside.truth/1); empty: not wanted
  intake::Coding coding{intake::Coding::pcm_24};
};

/// Told now and then with the share done in [0, 1]; returns false to stop.
using PlayProgress = std::function<bool(double)>;

/// Plays the side through disc/player.hpp, block by block, and writes capture and truth. Nothing of
/// either name appears when anything fails. Errors: those of intake::open_audio, disc::Player and
/// intake::AudioWriter; Fault::bad_input for a rate that is no whole number of hertz, or a capture
/// that would be written over its programme; Fault::conflict when `progress` asked to stop.
Result<works::Truth> play_side(const Playing&, const PlayProgress&);

}  // namespace goodside::line
