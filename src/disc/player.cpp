#include "disc/player.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <utility>

#include "base/expects.hpp"
#include "disc/check_played_side.hpp"
#include "disc/equalisation.hpp"
#include "disc/fault_schedule.hpp"
#include "disc/format.hpp"
#include "disc/instants.hpp"
#include "disc/pickup.hpp"
#include "disc/surface_noise.hpp"
#include "disc/tracing.hpp"
#include "disc/truth_of.hpp"
#include "signal/sinc_reader.hpp"

namespace goodside::disc {
namespace {

constexpr double tau = 2.0 * std::numbers::pi;
constexpr std::size_t piece_frames = 4096;
constexpr double usual_finishing_radius_m = 0.0475;
constexpr double electronics_noise_dB = -104.0;
constexpr double needle_ramp_s = 3e-3;
constexpr double thump_dB = -18.0;
constexpr double thump_Hz = 34.0;
constexpr double thump_decay_s = 0.025;
constexpr double longest_programme_s = 4.0 * 3600.0;
/// Mains hum and its harmonics, relative to the first.
constexpr std::array hum_dB{0.0, -6.0, -9.0, -20.0, -16.0};

double amplitude(double dB) {
  return std::pow(10.0, dB / 20.0);
}

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
  if (since_s < 0.0) return 0.0;
  return amplitude(thump_dB) * std::exp(-since_s / thump_decay_s) *
         std::sin(tau * thump_Hz * since_s);
}

struct Wall {
  Emphasis emphasis;
  Tracing tracing;
  std::vector<double> signal;
};

}  // namespace

/// Everything between the path and the output. Works in pieces at fixed frames, so that the size of
/// the caller's blocks cannot matter; the programme is read `Tracing::delay_frames` ahead.
class Player::Chain {
 public:
  Chain(const works::PlayedSide& side,
        const Groove& groove,
        PlayedPath way,
        std::vector<FaultEvent> faults)
      : truth{truth_of(side, groove, way, faults)},
        played_{side},
        groove_{groove},
        path_{std::move(way)},
        events_{std::move(faults)},
        true_rate_Hz_{side.sample_rate_Hz * (1.0 + side.drive.clock_error_ppm * 1e-6)},
        walls_{wall(side), wall(side)},
        surface_{side.surface, side.sample_rate_Hz, side.seed},
        pickup_{side.cartridge, side.sample_rate_Hz},
        electronics_{side.seed, 303},
        instants_s_(piece_frames + Tracing::delay_frames),
        piece_(piece_frames * static_cast<std::size_t>(side.channels)) {}

  Outcome open(const signal::SampleSource& programme) {
    programme_rate_Hz_ = programme.sample_rate_Hz();
    const auto add = [&](double shift_s, double gain) -> Outcome {
      auto source = programme.again();
      if (!source) return source.error();
      readers_.push_back(
          {std::make_unique<signal::SincReader>(std::move(*source), played_.sample_rate_Hz),
           shift_s,
           gain});
      return Done{};
    };
    if (Outcome opened = add(0.0, 1.0); !opened) return opened;
    // The echo of the groove ahead is heard a turn before its time.
    if (played_.echo_lead_dB)
      if (Outcome opened = add(groove_.turn_s(), amplitude(*played_.echo_lead_dB)); !opened)
        return opened;
    if (played_.echo_lag_dB)
      if (Outcome opened = add(-groove_.turn_s(), amplitude(*played_.echo_lag_dB)); !opened)
        return opened;
    // The first frames that tracing needs ahead.
    lay_instants(path_, true_rate_Hz_, 0, std::span{instants_s_}.first(Tracing::delay_frames));
    return cut_programme(0, std::span{instants_s_}.first(Tracing::delay_frames));
  }

  Result<std::int64_t> render(std::span<float> interleaved) {
    const auto width = static_cast<std::size_t>(played_.channels);
    EXPECTS(interleaved.size() % width == 0);
    std::size_t written = 0;
    while (written < interleaved.size()) {
      if (taken_ == filled_) {
        if (next_frame_ >= truth.frames) break;
        if (const Outcome made = make_piece(); !made) return made.error();
      }
      const std::size_t count = std::min(interleaved.size() - written, filled_ - taken_);
      std::copy_n(&piece_[taken_], count, &interleaved[written]);
      taken_ += count;
      written += count;
    }
    return static_cast<std::int64_t>(written / width);
  }

  works::Truth truth;

  [[nodiscard]] const works::PlayedSide& played() const { return played_; }

 private:
  struct Reader {
    std::unique_ptr<signal::SincReader> source;
    double shift_s, gain;
  };

  static Wall wall(const works::PlayedSide& side) {
    const Curve cut = *curve(side.side.shellac_type ? "bs-1928-coarse" : "iec-60098");
    return {emphasis({cut.bass_s, cut.turnover_s, cut.treble_s}, side.sample_rate_Hz),
            Tracing{side.sample_rate_Hz},
            std::vector<double>(piece_frames)};
  }

  [[nodiscard]] double time_s(std::int64_t frame) const {
    return static_cast<double>(frame) / true_rate_Hz_;
  }

  /// What was cut at those instants, traced and played, into each wall's signal; tracing hands out
  /// frame n when it is given frame n + delay, so the very first frames only fill it.
  Outcome cut_programme(std::int64_t from_frame, std::span<const double> instants_s) {
    const std::size_t count = instants_s.size();
    std::array<std::vector<double>, 2> programme{std::vector<double>(count),
                                                 std::vector<double>(count)};
    std::vector<double> places(count);
    for (const Reader& reader : readers_) {
      const auto width = static_cast<std::size_t>(reader.source->channels());
      std::vector<float> read(count * width);
      // A cartridge turned in its head reads one wall a little later.
      const bool apart = played_.cartridge.right_lag_s != 0.0;
      for (std::size_t channel = 0; channel < 2; ++channel) {
        if (channel == 0 || apart) {
          const double shift_s =
              reader.shift_s - (channel == 1 ? played_.cartridge.right_lag_s : 0.0);
          for (std::size_t k = 0; k < count; ++k)
            places[k] = (instants_s[k] + shift_s) * programme_rate_Hz_;
          if (Outcome done = reader.source->read(places, read); !done) return done;
        }
        const std::size_t side = std::min(channel, width - 1);
        for (std::size_t k = 0; k < count; ++k)
          programme[channel][k] += reader.gain * static_cast<double>(read[k * width + side]);
      }
    }
    for (const FaultEvent& event : events_) {
      if (event.shape() != works::PlannedKind::dropout) continue;
      for (std::size_t k = 0; k < count; ++k) {
        const double time = time_s(from_frame + static_cast<std::int64_t>(k));
        if (time < event.from_s() || time > event.to_s()) continue;
        const double gain = event.programme_gain(time);
        if (event.truth().channel != works::FaultChannel::right) programme[0][k] *= gain;
        if (event.truth().channel != works::FaultChannel::left) programme[1][k] *= gain;
      }
    }
    const works::Cartridge& cartridge = played_.cartridge;
    const double speed_m_per_s =
        groove_.speed_m_per_s(std::clamp(instants_s[count / 2], 0.0, groove_.duration_s()));
    const double strength_s = cartridge.stylus_radius_m / 2.0 *
                              cartridge.full_scale_velocity_m_per_s /
                              (speed_m_per_s * speed_m_per_s);
    for (std::size_t channel = 0; channel < 2; ++channel) {
      Wall& wall = walls_[channel];
      const double signed_strength_s = channel == 0 ? strength_s : -strength_s;
      for (std::size_t k = 0; k < count; ++k) {
        const double traced =
            wall.tracing.next(wall.emphasis.cutting(programme[channel][k]), signed_strength_s);
        if (from_frame + static_cast<std::int64_t>(k) < Tracing::delay_frames) continue;
        wall.signal[k] = wall.emphasis.playing(traced);
      }
    }
    return Done{};
  }

  Outcome make_piece() {
    const auto count = static_cast<std::size_t>(std::min<std::int64_t>(
        static_cast<std::int64_t>(piece_frames), truth.frames - next_frame_));
    const std::span<double> instants_s = std::span{instants_s_};
    lay_instants(path_, true_rate_Hz_, next_frame_, instants_s);
    const std::int64_t ahead = next_frame_ + Tracing::delay_frames;
    if (Outcome cut = cut_programme(ahead, instants_s.subspan(Tracing::delay_frames)); !cut)
      return cut;
    for (std::size_t k = 0; k < count; ++k) finish_frame(k, instants_s[k]);
    next_frame_ += static_cast<std::int64_t>(piece_frames);
    taken_ = 0;
    filled_ = count * static_cast<std::size_t>(played_.channels);
    // Events that are over need no further look.
    const double done_s = time_s(next_frame_);
    while (first_event_ < events_.size() && events_[first_event_].to_s() < done_s) ++first_event_;
    return Done{};
  }

  void finish_frame(std::size_t k, double programme_s) {
    const double time = time_s(next_frame_ + static_cast<std::int64_t>(k));
    const double down = std::clamp((time - path_.needle_down_s()) / needle_ramp_s, 0.0, 1.0) *
                        std::clamp((path_.needle_up_s() - time) / needle_ramp_s, 0.0, 1.0);
    double left = walls_[0].signal[k];
    double right = walls_[1].signal[k];
    const double groove_rad = tau * programme_s / groove_.turn_s();
    const SurfaceNoise::Pair noise = surface_.next(groove_rad, {left, right});
    left += noise.left;
    right += noise.right;
    double ceiling = 0.0;
    for (std::size_t e = first_event_; e < events_.size() && events_[e].from_s() <= time; ++e) {
      if (time > events_[e].to_s()) continue;
      if (events_[e].shape() == works::PlannedKind::clip) ceiling = events_[e].ceiling();
      const FaultEvent::Added added = events_[e].added(time, played_.sample_rate_Hz);
      left += added.left;
      right += added.right;
    }
    left *= down;
    right *= down;
    pickup_.pass(left, right);

    const double vertical = down * warp_velocity(programme_s);
    const double lateral =
        thump(time - path_.needle_down_s()) + thump(time - path_.needle_up_s()) + hum(time);
    const double level = amplitude(played_.level_dB);
    const double hiss = amplitude(electronics_noise_dB);
    left = level * (left + lateral + vertical) + hiss * electronics_.normal();
    right = level * (right + lateral - vertical) + hiss * electronics_.normal();
    if (ceiling > 0.0) {
      left = std::clamp(left, -level * ceiling, level * ceiling);
      right = std::clamp(right, -level * ceiling, level * ceiling);
    }
    if (played_.inverted) {
      left = -left;
      right = -right;
    }
    if (played_.swapped) std::swap(left, right);
    if (played_.channels == 1) {
      piece_[k] = static_cast<float>((left + right) / 2.0);
    } else {
      piece_[2 * k] = static_cast<float>(left);
      piece_[2 * k + 1] = static_cast<float>(right);
    }
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

  [[nodiscard]] double hum(double time) const {
    double sum = 0.0;
    for (std::size_t k = 0; k < hum_dB.size(); ++k)
      sum +=
          amplitude(hum_dB[k]) * std::sin(tau * played_.hum_Hz * static_cast<double>(k + 1) * time);
    return std::numbers::sqrt2 * amplitude(played_.hum_dB) * sum;
  }

  works::PlayedSide played_;
  Groove groove_;
  PlayedPath path_;
  std::vector<FaultEvent> events_;
  double true_rate_Hz_, programme_rate_Hz_{};
  std::vector<Reader> readers_;
  std::array<Wall, 2> walls_;
  SurfaceNoise surface_;
  Pickup pickup_;
  Draw electronics_;
  std::vector<double> instants_s_;  ///< of a piece's frames and those that tracing needs ahead
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
  auto chain = std::make_unique<Chain>(played, *groove, std::move(*path), std::move(*events));
  if (const Outcome opened = chain->open(programme); !opened) return opened.error();
  return Player{std::move(chain)};
}

int Player::channels() const {
  return chain_->played().channels;
}
double Player::sample_rate_Hz() const {
  return chain_->played().sample_rate_Hz;
}
std::int64_t Player::frames() const {
  return chain_->truth.frames;
}
const works::Truth& Player::truth() const {
  return chain_->truth;
}
Result<std::int64_t> Player::render(std::span<float> interleaved) {
  return chain_->render(interleaved);
}

}  // namespace goodside::disc
