#include "disc/cut_reader.hpp"

#include <algorithm>
#include <cmath>

#include "disc/decibel.hpp"
#include "disc/equalisation.hpp"

namespace goodside::disc {
namespace {

Emphasis emphasis_of(const works::PlayedSide& played) {
  const Curve cut = *curve(played.side.shellac_type ? "bs-1928-coarse" : "iec-60098");
  return emphasis({cut.bass_s, cut.turnover_s, cut.treble_s}, played.sample_rate_Hz);
}

void fade(std::span<double> programme,
          std::span<const double> frame_time_s,
          const FaultEvent& dropout) {
  for (std::size_t k = 0; k < programme.size(); ++k)
    if (frame_time_s[k] >= dropout.from_s() && frame_time_s[k] <= dropout.to_s())
      programme[k] *= dropout.programme_gain(frame_time_s[k]);
}

}  // namespace

CutReader::CutReader(const works::PlayedSide& played,
                     const Groove& groove,
                     double programme_rate_Hz)
    : groove_{groove},
      cartridge_{played.cartridge},
      programme_rate_Hz_{programme_rate_Hz},
      walls_{Wall{emphasis_of(played), Tracing{played.sample_rate_Hz}, {}},
             Wall{emphasis_of(played), Tracing{played.sample_rate_Hz}, {}}} {}

Result<CutReader> CutReader::of(const signal::SampleSource& programme,
                                const works::PlayedSide& played,
                                const Groove& groove) {
  CutReader cut{played, groove, programme.sample_rate_Hz()};
  const auto add = [&](double shift_s, double gain) -> Outcome {
    auto source = programme.again();
    if (!source) return source.error();
    cut.readers_.push_back(
        {std::make_unique<signal::SincReader>(std::move(*source), played.sample_rate_Hz),
         shift_s,
         gain});
    return Done{};
  };
  if (const Outcome opened = add(0.0, 1.0); !opened) return opened.error();
  // The echo of the turn ahead is heard before its time.
  if (played.echo_lead_dB)
    if (const Outcome opened = add(groove.turn_s(), amplitude(*played.echo_lead_dB)); !opened)
      return opened.error();
  if (played.echo_lag_dB)
    if (const Outcome opened = add(-groove.turn_s(), amplitude(*played.echo_lag_dB)); !opened)
      return opened.error();
  return cut;
}

Outcome CutReader::read_programme(std::span<const double> instants_s) {
  const std::size_t count = instants_s.size();
  places_.resize(count);
  for (Wall& wall : walls_) wall.programme.assign(count, 0.0);
  for (const Reader& reader : readers_) {
    const auto width = static_cast<std::size_t>(reader.source->channels());
    read_.resize(count * width);
    for (std::size_t side = 0; side < 2; ++side) {
      // A cartridge turned in its head reads one wall a little later; else one reading serves both.
      const double lag_s = side == 1 ? cartridge_.right_lag_s : 0.0;
      if (side == 0 || lag_s != 0.0) {
        for (std::size_t k = 0; k < count; ++k)
          places_[k] = (instants_s[k] + reader.shift_s - lag_s) * programme_rate_Hz_;
        if (Outcome done = reader.source->read(places_, read_); !done) return done;
      }
      const std::size_t channel = std::min(side, width - 1);
      for (std::size_t k = 0; k < count; ++k)
        walls_[side].programme[k] += reader.gain * static_cast<double>(read_[k * width + channel]);
    }
  }
  return Done{};
}

Outcome CutReader::read(std::span<const double> instants_s,
                        std::span<const double> frame_time_s,
                        std::span<const FaultEvent> dropouts,
                        std::array<std::span<double>, 2> walls) {
  if (instants_s.empty()) return Done{};
  if (Outcome done = read_programme(instants_s); !done) return done;
  for (const FaultEvent& event : dropouts) {
    if (event.from_s() > frame_time_s.back()) break;
    if (event.shape() != works::PlannedKind::dropout || event.to_s() < frame_time_s.front())
      continue;
    if (event.truth().channel != works::FaultChannel::right)
      fade(walls_[0].programme, frame_time_s, event);
    if (event.truth().channel != works::FaultChannel::left)
      fade(walls_[1].programme, frame_time_s, event);
  }
  const double middle_s = std::clamp(instants_s[instants_s.size() / 2], 0.0, groove_.duration_s());
  const double speed_m_per_s = groove_.speed_m_per_s(middle_s);
  const double strength_s = cartridge_.stylus_radius_m / 2.0 *
                            cartridge_.full_scale_velocity_m_per_s /
                            (speed_m_per_s * speed_m_per_s);
  for (std::size_t side = 0; side < 2; ++side) {
    Wall& wall = walls_[side];
    const double signed_strength_s = side == 0 ? strength_s : -strength_s;
    for (std::size_t k = 0; k < instants_s.size(); ++k)
      walls[side][k] = wall.emphasis.playing(
          wall.tracing.next(wall.emphasis.cutting(wall.programme[k]), signed_strength_s));
  }
  return Done{};
}

}  // namespace goodside::disc
