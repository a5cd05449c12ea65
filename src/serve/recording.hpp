#pragma once
#include <array>
#include <atomic>
#include <condition_variable>
#include <cstdint>
#include <deque>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "intake/growing_wav.hpp"
#include "listen/groove_watch.hpp"
#include "serve/sound_card.hpp"

namespace goodside::serve {

/// One side on its way from an audio interface into a file: waits for the stylus, keeps what came two
/// seconds before it, ends by itself (listen/groove_watch.hpp). One thread reads the interface,
/// another writes and brings each second to the disk; twenty seconds may wait between them.
class Recording {
 public:
  struct Setting {
    std::string path;
    double turn_s{1.8};
    std::optional<double> programme_s{};
  };
  /// As it stands. Levels are dB re full scale.
  struct Now {
    listen::GrooveWatch::State state{};
    listen::GrooveWatch::End end{};
    SoundCard::Format format{};
    double recorded_s{}, kept_s{}, silent_s{};
    std::optional<double> floor_dB{};
    std::vector<double> peak_dB{}, highest_dB{};  ///< a channel: of the last 0.3 s, of all of it
    std::int64_t clipped{};            ///< frames at full scale, in runs of three and more
    std::vector<double> overruns_s{};  ///< where sound was lost
    int false_starts{};
    std::string error{};  ///< why it ended where nobody wanted it
  };

  /// `ended` is called by the recording's own thread when no more will come, whatever the reason.
  static Result<std::unique_ptr<Recording>> start(std::unique_ptr<SoundCard> card,
                                                  const Setting& setting,
                                                  std::function<void()> ended);
  Recording(const Recording&) = delete;
  Recording& operator=(const Recording&) = delete;
  ~Recording();  ///< breaks off; what was kept stays

  void begin();  ///< the stylus is down, says a person
  void end();    ///< it is enough
  [[nodiscard]] Now now() const;

 private:
  class Meter;
  Recording(std::unique_ptr<SoundCard> card,
            const Setting& setting,
            std::unique_ptr<intake::GrowingWav> wav,
            std::function<void()> ended);
  void listen();
  bool take_in(std::span<const float> interleaved, Meter& meter);
  void hand_on(std::vector<float> samples);
  void write();
  void finish();
  void fail(const std::string& why);
  [[nodiscard]] double seconds(std::int64_t frames) const;
  [[nodiscard]] std::size_t width() const { return static_cast<std::size_t>(format_.channels); }

  std::unique_ptr<SoundCard> card_;
  const SoundCard::Format format_;
  std::unique_ptr<intake::GrowingWav> wav_;
  std::function<void()> ended_;
  listen::GrooveWatch watch_;
  std::deque<float> before_;    ///< the last seconds, with the stylus up
  std::int64_t frames_{};       ///< taken in all
  std::int64_t first_frame_{};  ///< of the recording
  bool was_playing_{};

  std::atomic<bool> stopping_{false}, begin_asked_{false}, end_asked_{false};
  mutable std::mutex guard_;
  std::condition_variable moved_;
  std::deque<std::vector<float>> queue_;  ///< to be written; an empty one: begin again
  std::int64_t queued_frames_{};
  bool no_more_{};
  Now now_;
  std::thread listener_, writer_;
};

}  // namespace goodside::serve
