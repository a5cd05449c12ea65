#include "serve/sounds.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

namespace goodside::serve {
namespace {

constexpr std::size_t most_bytes = std::size_t{64} << 20, most_tracks = 8;

std::size_t bytes_of(const line::WindowSound& sound) {
  return sound.capture.size() + sound.cut.size() + sound.difference.size();
}

}  // namespace

std::string Sounds::track_path(const ledger::Row& report) const {
  return reports_.path_of(
      fmt::format("reports/{}.track.gz", ledger::text(ledger::at(report, "sha256"))));
}

std::string Sounds::why_no_cut(const ledger::Row& report) const {
  std::error_code ignored;
  if (std::filesystem::exists(track_path(report), ignored)) return {};
  return "this play was heard without its cut, or before cuts were kept: hear the capture again "
         "to hear the cut beside it";
}

std::shared_ptr<const line::KeptTrack> Sounds::track_of(const std::string& path) {
  {
    const std::lock_guard lock{guard_};
    for (auto track = tracks_.begin(); track != tracks_.end(); ++track)
      if (track->first == path) {
        tracks_.splice(tracks_.begin(), tracks_, track);
        return track->second;
      }
  }
  auto kept = std::make_shared<const line::KeptTrack>(or_stop(line::read_kept(path)));
  const std::lock_guard lock{guard_};
  tracks_.emplace_front(path, kept);
  if (tracks_.size() > most_tracks) tracks_.pop_back();
  return kept;
}

std::optional<double> Sounds::programme_s(const ledger::Row& report, double capture_s) {
  const std::string path = track_path(report);
  std::error_code ignored;
  if (!std::filesystem::exists(path, ignored)) return std::nullopt;
  return listen::programme_at(track_of(path)->kept, capture_s);
}

std::shared_ptr<const line::WindowSound> Sounds::window(const ledger::Row& report,
                                                        const ledger::Row& capture,
                                                        const listen::Window& window) {
  const std::string key =
      fmt::format("{} {} {}", ledger::text(ledger::at(report, "code")), window.from_s, window.to_s);
  const auto known = [&]() -> std::shared_ptr<const line::WindowSound> {
    const std::lock_guard lock{guard_};
    for (auto held = held_.begin(); held != held_.end(); ++held)
      if (held->key == key) {
        held_.splice(held_.begin(), held_, held);
        return held->sound;
      }
    return nullptr;
  };
  if (auto sound = known()) return sound;
  // One at a time: who asks for the cut while the capture is being made gets both at once.
  const std::lock_guard one_at_a_time{making_};
  if (auto sound = known()) return sound;
  const std::string path = track_path(report);
  std::optional<line::KeptTrack> track;
  std::error_code ignored;
  if (std::filesystem::exists(path, ignored)) track = *track_of(path);
  auto made = std::make_shared<const line::WindowSound>(or_stop(line::window_sound(
      reports_.folder(), ledger::text(ledger::at(capture, "path")), track, window)));
  const std::lock_guard lock{guard_};
  held_.push_front({key, made});
  bytes_ += bytes_of(*made);
  while (bytes_ > most_bytes && held_.size() > 1) {
    bytes_ -= bytes_of(*held_.back().sound);
    held_.pop_back();
  }
  return made;
}

}  // namespace goodside::serve
