#include "line/play_side.hpp"

#include <fmt/format.h>

#include <cmath>
#include <filesystem>
#include <optional>
#include <span>
#include <system_error>
#include <utility>
#include <vector>

#include "disc/player.hpp"
#include "intake/audio_file.hpp"
#include "intake/safe_file.hpp"
#include "json/truth.hpp"

namespace goodside::line {
namespace {

constexpr std::size_t block_frames = 65536;

Outcome check_names(const Playing& playing) {
  std::error_code ignored;
  for (const std::string& target : {playing.capture, playing.truth})
    if (!target.empty() && (target == playing.programme ||
                            std::filesystem::equivalent(target, playing.programme, ignored)))
      return Error{
          Fault::bad_input,
          fmt::format("{} would be written over the programme; name another file", target)};
  if (playing.capture == playing.truth)
    return Error{Fault::bad_input,
                 fmt::format("{} is to be both capture and truth; name two files", playing.truth)};
  return Done{};
}

}  // namespace

Result<works::Truth> play_side(const Playing& playing, const PlayProgress& progress) {
  if (const Outcome named = check_names(playing); !named) return named.error();
  const auto programme = intake::open_audio(playing.programme);
  if (!programme) return programme.error();
  auto player = disc::Player::put_on(**programme, playing.played);
  if (!player) return player.error();
  const double rate_Hz = player->sample_rate_Hz();
  if (rate_Hz != std::floor(rate_Hz))
    return Error{Fault::bad_input,
                 fmt::format("a file cannot hold a rate of {} Hz; give whole hertz", rate_Hz)};
  const auto writer = intake::AudioWriter::create(
      playing.capture, {static_cast<int>(rate_Hz), player->channels(), playing.coding});
  if (!writer) return writer.error();

  const auto width = static_cast<std::size_t>(player->channels());
  std::vector<float> block(block_frames * width);
  while (true) {
    const auto frames = player->render(block);
    if (!frames) return frames.error();
    if (*frames == 0) break;
    const auto samples = std::span{block}.first(static_cast<std::size_t>(*frames) * width);
    if (const Outcome written = (*writer)->write(samples); !written) return written.error();
    const double share =
        static_cast<double>((*writer)->frames()) / static_cast<double>(player->frames());
    if (progress && !progress(share)) return Error{Fault::conflict, "stopped, nothing written"};
  }
  // Both are whole before either takes its name, and the truth takes its own last: none stands without its capture.
  std::optional<intake::SafeFile> truth;
  if (!playing.truth.empty()) {
    auto begun = intake::SafeFile::create(playing.truth);
    if (!begun) return begun.error();
    truth = std::move(*begun);
    if (const Outcome told = truth->write(json::write(player->truth())); !told) return told.error();
  }
  if (const Outcome finished = (*writer)->finish(); !finished) return finished.error();
  if (truth)
    if (const Outcome told = truth->commit(); !told) return told.error();
  return player->truth();
}

}  // namespace goodside::line
