#pragma once
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "base/result.hpp"

namespace goodside::serve {

/// An input that the system offers: its name for the system, and for people.
struct SoundDevice {
  std::string name, words;
};

/// An audio interface that records. One thread's.
class SoundCard {
 public:
  struct Format {
    int sample_rate_Hz{}, channels{};
  };
  struct Taken {
    std::size_t frames{};  ///< 0: nothing came for a while, or by an overrun
    bool overrun{};        ///< sound was lost just before these
  };
  SoundCard() = default;
  SoundCard(const SoundCard&) = delete;
  SoundCard& operator=(const SoundCard&) = delete;
  virtual ~SoundCard() = default;

  [[nodiscard]] virtual Format format() const = 0;
  /// The next frames, interleaved, full scale 1; waits half a second for them at most.
  /// Errors: Fault::io where the device is gone.
  virtual Result<Taken> take(std::span<float> interleaved) = 0;
};

/// What can be recorded from at this moment.
[[nodiscard]] std::vector<SoundDevice> sound_devices();

/// Opens a device by the system's name, with two channels (else one) and the rate that comes nearest,
/// without a conversion of the rate. Errors: Fault::bad_input where it cannot record so;
/// Fault::not_found, Fault::conflict (in use), Fault::io.
Result<std::unique_ptr<SoundCard>> open_sound_card(const std::string& name, int sample_rate_Hz);

}  // namespace goodside::serve
