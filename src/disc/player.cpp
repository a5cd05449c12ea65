#include "disc/player.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

#include "base/expects.hpp"
#include "disc/check_played_side.hpp"
#include "disc/cut_reader.hpp"
#include "disc/decibel.hpp"
#include "disc/fault_schedule.hpp"
#include "disc/format.hpp"
#include "disc/instants.hpp"
#include "disc/pickup.hpp"
#include "disc/surface_noise.hpp"
#include "disc/tracing.hpp"
#include "disc/truth_of.hpp"

namespace goodside::disc {
namespace {

constexpr double tau = 2.0 * std::numbers::pi;
constexpr std::size_t piece_frames = 4096;
constexpr double usual_finishing_radius_m = 0.0475;
constexpr double electronics_noise = 6e-6;  ///< of full scale, -104 dB
constexpr double needle_ramp_s = 3e-3;
constexpr double thump_peak = 0.125;
constexpr double thump_Hz = 34.0;
constexpr double thump_decay_s = 0.025;
constexpr double longest_thump_s = 0.5;
constexpr double longest_programme_s = 4.0 * 3600.0;
/// Mains hum and its harmonics, relative to the first.
constexpr std::array hum_lines{1.0, 0.5, 0.35, 0.1, 0.16};

Outcome check_programme(const signal::SampleSource& programme) {
  const double rate_Hz = programme.sample_rate_Hz();
  if (programme.frames() <= 0)
    return Error{Fault::bad_input, "the programme holds no samples; give a recording of a side"};
  if (programme.channels() != 1 && programme.channels() != 2)
    return Error{
        Fault::bad_input,
        fmt::format("the programme has {} channels; a side has one or two", programme.channels())};
  if (!(rate_Hz >= 8000.0 && rate_Hz <= 384000.0))
    return Error{Fault::out_of_range,
                 fmt::format("the programme's rate is {} Hz; give 8000 to 384000 Hz", rate_Hz)};
  if (static_cast<double>(programme.frames()) / rate_Hz > longest_programme_s)
    return Error{Fault::out_of_range, "the programme is longer than 4 h; a side is not"};
  return Done{};
}

double finishing_radius_m(const works::CutSide& side) {
  const auto known = format(side.format);
  return known ? known->finishing_radius_m : usual_finishing_radius_m;
}

double thump(double since_s) {
  if (since_s < 0.0 || since_s > longest_thump_s) return 0.0;
  return thump_peak * std::exp(-since_s / thump_decay_s) * std::sin(tau * thump_Hz * since_s);
}

}  // namespace

/// Everything between the path and the output. Works in pieces at fixed frames, so that the size of
/// the caller's blocks cannot matter; the cut is read `Tracing::delay_frames` ahead.
class Player::Chain {
 public:
  Chain(const works::PlayedSide& played,
        const Groove& groove,
        PlayedPath path,
        std::vector<FaultEvent> events,
        CutReader cut)
      : truth_{truth_of(played, groove, path, events)},
        played_{played},
        groove_{groove},
        path_{std::move(path)},
        events_{std::move(events)},
        cut_{std::move(cut)},
        surface_{played.surface, played.sample_rate_Hz, played.seed},
        pickup_{played.cartridge, played.sample_rate_Hz},
        electronics_{played.seed, 303},
        true_rate_Hz_{played.sample_rate_Hz * (1.0 + played.drive.clock_error_ppm * 1e-6)},
        level_{amplitude(played.level_dB)},
        hum_level_{std::numbers::sqrt2 * amplitude(played.hum_dB)},
        instants_s_(piece_frames + Tracing::delay_frames),
        frame_time_s_(piece_frames + Tracing::delay_frames),
        walls_{std::vector<double>(piece_frames), std::vector<double>(piece_frames)},
        piece_(piece_frames * static_cast<std::size_t>(played.channels)) {}

  [[nodiscard]] const works::Truth& truth() const { return truth_; }
  [[nodiscard]] const works::PlayedSide& played() const { return played_; }

  /// Fills what tracing needs to see of the frames ahead; once, before anything is rendered.
  Outcome begin() {
    lay_frames(0);
    return read_cut(0, Tracing::delay_frames);
  }

  Result<std::int64_t> render(std::span<float> interleaved) {
    const auto width = static_cast<std::size_t>(played_.channels);
    EXPECTS(interleaved.size() % width == 0);
    std::size_t written = 0;
    while (written < interleaved.size()) {
      if (taken_ == filled_) {
        if (next_frame_ >= truth_.frames) break;
        if (const Outcome made = make_piece(); !made) return made.error();
      }
      const std::size_t count = std::min(interleaved.size() - written, filled_ - taken_);
      std::copy_n(&piece_[taken_], count, &interleaved[written]);
      taken_ += count;
      written += count;
    }
    return static_cast<std::int64_t>(written / width);
  }

 private:
  struct Sample {
    double left, right;
  };

  void lay_frames(std::int64_t from_frame) {
    lay_instants(path_, true_rate_Hz_, from_frame, instants_s_);
    for (std::size_t k = 0; k < frame_time_s_.size(); ++k)
      frame_time_s_[k] =
          static_cast<double>(from_frame + static_cast<std::int64_t>(k)) / true_rate_Hz_;
  }

  Outcome read_cut(std::size_t from, std::size_t count) {
    return cut_.read(std::span{instants_s_}.subspan(from, count),
                     std::span{frame_time_s_}.subspan(from, count),
                     std::span{events_}.subspan(first_event_),
                     {std::span{walls_[0]}, std::span{walls_[1]}});
  }

  Outcome make_piece() {
    lay_frames(next_frame_);
    if (Outcome read = read_cut(Tracing::delay_frames, piece_frames); !read) return read;
    const std::int64_t left = truth_.frames - next_frame_;
    const auto count =
        static_cast<std::size_t>(std::min(left, static_cast<std::int64_t>(piece_frames)));
    for (std::size_t k = 0; k < count; ++k) finish_frame(k);
    next_frame_ += static_cast<std::int64_t>(piece_frames);
    taken_ = 0;
    filled_ = count * static_cast<std::size_t>(played_.channels);
    const double done_s = frame_time_s_[piece_frames];
    while (first_event_ < events_.size() && events_[first_event_].to_s() < done_s) ++first_event_;
    return Done{};
  }

  void finish_frame(std::size_t k) {
    const double time_s = frame_time_s_[k];
    const double groove_rad = tau * instants_s_[k] / groove_.turn_s();
    Sample at{walls_[0][k], walls_[1][k]};
    const SurfaceNoise::Pair noise = surface_.next(groove_rad, {at.left, at.right});
    at.left += noise.left;
    at.right += noise.right;
    const double ceiling = add_faults(time_s, at);
    const double down = needle(time_s);
    at.left *= down;
    at.right *= down;
    pickup_.pass(at.left, at.right);

    const double vertical = down * warp_velocity(instants_s_[k]);
    const double lateral =
        thump(time_s - path_.needle_down_s()) + thump(time_s - path_.needle_up_s()) + hum(time_s);
    at.left = level_ * (at.left + lateral + vertical) + electronics_noise * electronics_.normal();
    at.right = level_ * (at.right + lateral - vertical) + electronics_noise * electronics_.normal();
    put(k, {std::clamp(at.left, -ceiling, ceiling), std::clamp(at.right, -ceiling, ceiling)});
  }

  /// Returns the level over which the recorder clips at that moment.
  double add_faults(double time_s, Sample& at) {
    double ceiling = std::numeric_limits<double>::max();
    for (std::size_t k = first_event_; k < events_.size() && events_[k].from_s() <= time_s; ++k) {
      FaultEvent& event = events_[k];
      if (time_s > event.to_s()) continue;
      if (event.shape() == works::PlannedKind::clip) ceiling = level_ * event.ceiling();
      const FaultEvent::Added added = event.added(time_s, played_.sample_rate_Hz);
      at.left += added.left;
      at.right += added.right;
    }
    return ceiling;
  }

  void put(std::size_t k, Sample at) {
    if (played_.inverted) at = {-at.left, -at.right};
    if (played_.swapped) std::swap(at.left, at.right);
    if (played_.channels == 1) {
      piece_[k] = static_cast<float>((at.left + at.right) / 2.0);
    } else {
      piece_[2 * k] = static_cast<float>(at.left);
      piece_[2 * k + 1] = static_cast<float>(at.right);
    }
  }

  /// 1 while the needle is in the groove.
  [[nodiscard]] double needle(double time_s) const {
    return std::clamp((time_s - path_.needle_down_s()) / needle_ramp_s, 0.0, 1.0) *
           std::clamp((path_.needle_up_s() - time_s) / needle_ramp_s, 0.0, 1.0);
  }

  /// A warp's vertical velocity, of which the arm leaves little: below its resonance it follows the
  /// disc.
  [[nodiscard]] double warp_velocity(double programme_s) const {
    if (played_.warp.height_m == 0.0) return 0.0;
    const double frequency_Hz = played_.warp.lobes / groove_.turn_s();
    const double quarter_s = 0.25 / frequency_Hz;
    const double velocity_m_per_s =
        tau * frequency_Hz * path_.tracking().lift_m(programme_s + quarter_s);
    return pickup_.arm_gain(frequency_Hz) * velocity_m_per_s /
           played_.cartridge.full_scale_velocity_m_per_s;
  }

  [[nodiscard]] double hum(double time_s) const {
    const double phase = tau * played_.hum_Hz * time_s;
    double sum = 0.0;
    for (std::size_t k = 0; k < hum_lines.size(); ++k)
      sum += hum_lines[k] * std::sin(phase * static_cast<double>(k + 1));
    return hum_level_ * sum;
  }

  works::Truth truth_;
  works::PlayedSide played_;
  Groove groove_;
  PlayedPath path_;
  std::vector<FaultEvent> events_;
  CutReader cut_;
  SurfaceNoise surface_;
  Pickup pickup_;
  stats::Draw electronics_;
  double true_rate_Hz_, level_, hum_level_;
  std::vector<double> instants_s_,
      frame_time_s_;  ///< of a piece's frames and those that tracing needs ahead
  std::array<std::vector<double>, 2> walls_;
  std::vector<float> piece_;
  std::int64_t next_frame_{0};
  std::size_t taken_{0}, filled_{0}, first_event_{0};
};

Player::Player(std::unique_ptr<Chain> chain) : chain_{std::move(chain)} {}
Player::Player(Player&&) noexcept = default;
Player& Player::operator=(Player&&) noexcept = default;
Player::~Player() = default;

Result<Player> Player::put_on(const signal::SampleSource& programme,
                              const works::PlayedSide& played) {
  if (const Outcome checked = check_programme(programme); !checked) return checked.error();
  if (const Outcome checked = check_played_side(played); !checked) return checked.error();
  const double duration_s = static_cast<double>(programme.frames()) / programme.sample_rate_Hz();
  const auto groove = Groove::of(played.side, duration_s);
  if (!groove) return groove.error();
  auto path = PlayedPath::of(played, *groove, finishing_radius_m(played.side));
  if (!path) return path.error();
  auto events = fault_schedule(played, *groove, *path);
  if (!events) return events.error();
  auto cut = CutReader::of(programme, played, *groove);
  if (!cut) return cut.error();
  auto chain = std::make_unique<Chain>(
      played, *groove, std::move(*path), std::move(*events), std::move(*cut));
  if (const Outcome begun = chain->begin(); !begun) return begun.error();
  return Player{std::move(chain)};
}

int Player::channels() const {
  return chain_->played().channels;
}
double Player::sample_rate_Hz() const {
  return chain_->played().sample_rate_Hz;
}
std::int64_t Player::frames() const {
  return chain_->truth().frames;
}
const works::Truth& Player::truth() const {
  return chain_->truth();
}
Result<std::int64_t> Player::render(std::span<float> interleaved) {
  return chain_->render(interleaved);
}

}  // namespace goodside::disc
