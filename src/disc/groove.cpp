#include "disc/groove.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/expects.hpp"

namespace goodside::disc {
namespace {

constexpr double smallest_radius_m = 5e-3;

Error bad(std::string text) {
  return {Fault::bad_input, std::move(text)};
}

double mm(double metres) {
  return metres * 1e3;
}

bool usable(double value) {
  return std::isfinite(value) && value > 0.0;
}

struct Chord {
  double width_s, slope_m_per_s;
};

/// Slope at an inner mark: the weighted harmonic mean of the chords beside it, zero where they
/// differ in sign.
double inner_slope(const Chord& before, const Chord& after) {
  if (before.slope_m_per_s * after.slope_m_per_s <= 0.0) return 0.0;
  const double weight_before = 2.0 * after.width_s + before.width_s;
  const double weight_after = after.width_s + 2.0 * before.width_s;
  return (weight_before + weight_after) /
         (weight_before / before.slope_m_per_s + weight_after / after.slope_m_per_s);
}

Outcome check(const works::CutSide& side, double duration_s) {
  if (!(std::isfinite(side.rpm) && side.rpm >= 10.0 && side.rpm <= 100.0))
    return bad(fmt::format("rpm is {}; give the cut's speed, 10 to 100", side.rpm));
  if (!usable(duration_s))
    return bad(fmt::format("the programme lasts {} s; it must be longer than 0 s", duration_s));
  if (side.marks.size() >= 2) return Done{};
  if (!usable(side.outer_radius_m))
    return bad(fmt::format("the outer radius is {} mm; give a format or --outer-radius",
                           mm(side.outer_radius_m)));
  return Done{};
}

}  // namespace

Groove::Groove(double rpm, double duration_s, Knots knots)
    : rpm_{rpm}, duration_s_{duration_s}, knots_{std::move(knots)} {}

Result<Groove::Knots> Groove::through_marks(const works::CutSide& side) {
  std::vector<works::Mark> marks = side.marks;
  if (marks.size() == 1) {
    if (!(marks[0].programme_s > 0.0))
      return bad("one mark at 0 s says no more than the outer radius; give a second one");
    marks.insert(marks.begin(), {0.0, side.outer_radius_m});
  }
  Knots knots;
  for (const works::Mark& mark : marks) {
    if (!std::isfinite(mark.programme_s) || !usable(mark.radius_m))
      return bad(
          fmt::format("a mark reads {} s = {} mm; both must be numbers and the radius positive",
                      mark.programme_s,
                      mm(mark.radius_m)));
    if (!knots.empty() && mark.programme_s <= knots.back().programme_s)
      return bad(fmt::format("the mark at {} s follows one at {} s; give marks in order of time",
                             mark.programme_s,
                             knots.back().programme_s));
    if (!knots.empty() && mark.radius_m >= knots.back().radius_m)
      return bad(fmt::format(
          "the radius does not shrink between the marks at {} s ({:.2f} mm) and {} s ({:.2f} mm)",
          knots.back().programme_s,
          mm(knots.back().radius_m),
          mark.programme_s,
          mm(mark.radius_m)));
    knots.push_back({mark.programme_s, mark.radius_m, 0.0});
  }
  EXPECTS(knots.size() >= 2);
  const auto chord = [&](std::size_t k) {
    const double width_s = knots[k + 1].programme_s - knots[k].programme_s;
    return Chord{width_s, (knots[k + 1].radius_m - knots[k].radius_m) / width_s};
  };
  for (std::size_t k = 1; k + 1 < knots.size(); ++k)
    knots[k].slope_m_per_s = inner_slope(chord(k - 1), chord(k));
  knots.front().slope_m_per_s = chord(0).slope_m_per_s;
  knots.back().slope_m_per_s = chord(knots.size() - 2).slope_m_per_s;
  return knots;
}

Result<Groove::Knots> Groove::along_profile(const works::CutSide& side, double duration_s) {
  // A pitch that changes linearly makes the radius a parabola, which the cubic between two knots
  // holds exactly.
  const double turns_per_s = side.rpm / 60.0;
  double time_s = 0.0;
  double radius_m = side.outer_radius_m;
  double pitch_m = side.pitch_profile.front().second;
  Knots knots;
  const auto go_on = [&](double next_s, double next_pitch_m) {
    radius_m -= turns_per_s * (next_s - time_s) * (pitch_m + next_pitch_m) / 2.0;
    time_s = next_s;
    pitch_m = next_pitch_m;
    knots.push_back({time_s, radius_m, -pitch_m * turns_per_s});
  };
  go_on(0.0, pitch_m);
  for (const auto& [point_s, point_pitch_m] : side.pitch_profile) {
    if (!std::isfinite(point_s) || !usable(point_pitch_m))
      return bad(fmt::format(
          "the pitch profile has {} mm at {} s; a pitch is positive", mm(point_pitch_m), point_s));
    const bool first = &point_pitch_m == &side.pitch_profile.front().second;
    if (first && point_s == 0.0) continue;
    if (point_s <= time_s)
      return bad(fmt::format(
          "the pitch profile goes from {} s to {} s; give it in order of time", time_s, point_s));
    go_on(point_s, point_pitch_m);
  }
  if (duration_s > time_s || knots.size() == 1) go_on(std::max(duration_s, time_s + 1.0), pitch_m);
  return knots;
}

Result<Groove::Knots> Groove::at_fixed_pitch(const works::CutSide& side, double duration_s) {
  double inner_m = side.inner_radius_m;
  if (side.pitch_m != 0.0) {
    if (!usable(side.pitch_m))
      return bad(fmt::format("the pitch is {} mm; a pitch is positive", mm(side.pitch_m)));
    inner_m = side.outer_radius_m - side.pitch_m * side.rpm / 60.0 * duration_s;
  } else if (!usable(inner_m)) {
    return bad("neither the inner radius nor the pitch is known; give --inner-radius or --pitch");
  }
  if (inner_m >= side.outer_radius_m)
    return bad(fmt::format(
        "the inner radius {:.2f} mm is not under the outer radius {:.2f} mm; check both",
        mm(inner_m),
        mm(side.outer_radius_m)));
  const double slope_m_per_s = (inner_m - side.outer_radius_m) / duration_s;
  return Knots{{0.0, side.outer_radius_m, slope_m_per_s}, {duration_s, inner_m, slope_m_per_s}};
}

Result<Groove> Groove::of(const works::CutSide& side, double duration_s) {
  if (const Outcome checked = check(side, duration_s); !checked) return checked.error();
  auto knots = !side.marks.empty()           ? through_marks(side)
               : !side.pitch_profile.empty() ? along_profile(side, duration_s)
                                             : at_fixed_pitch(side, duration_s);
  if (!knots) return knots.error();
  Groove groove{side.rpm, duration_s, std::move(*knots)};
  const double begin_m = groove.radius_m(0.0);
  const double end_m = groove.radius_m(duration_s);
  if (end_m < smallest_radius_m)
    return Error{
        Fault::out_of_range,
        fmt::format(
            "the groove would end at a radius of {:.1f} mm after {:.1f} s; check pitch, radii and "
            "programme",
            mm(end_m),
            duration_s)};
  if (side.disc_diameter_m > 0.0 && begin_m > side.disc_diameter_m / 2.0)
    return Error{
        Fault::out_of_range,
        fmt::format(
            "the groove would begin at a radius of {:.2f} mm, beyond the disc's edge at {:.2f} mm; "
            "check the outer radius",
            mm(begin_m),
            mm(side.disc_diameter_m / 2.0))};
  return groove;
}

Groove::Local Groove::at(double programme_s) const {
  const auto straight = [programme_s](const Knot& end) {
    return Local{end.radius_m + end.slope_m_per_s * (programme_s - end.programme_s),
                 end.slope_m_per_s};
  };
  if (programme_s <= knots_.front().programme_s) return straight(knots_.front());
  if (programme_s >= knots_.back().programme_s) return straight(knots_.back());
  const auto after = std::upper_bound(
      knots_.begin(), knots_.end(), programme_s, [](double time_s, const Knot& knot) {
        return time_s < knot.programme_s;
      });
  const Knot& a = *(after - 1);
  const Knot& b = *after;
  const double width_s = b.programme_s - a.programme_s;
  const double x = (programme_s - a.programme_s) / width_s;
  const double y = 1.0 - x;
  return {y * y * ((1.0 + 2.0 * x) * a.radius_m + x * width_s * a.slope_m_per_s) +
              x * x * ((1.0 + 2.0 * y) * b.radius_m - y * width_s * b.slope_m_per_s),
          6.0 * x * y * (b.radius_m - a.radius_m) / width_s +
              y * (1.0 - 3.0 * x) * a.slope_m_per_s + x * (3.0 * x - 2.0) * b.slope_m_per_s};
}

double Groove::radius_m(double programme_s) const {
  return at(programme_s).radius_m;
}

double Groove::pitch_m(double programme_s) const {
  return -at(programme_s).slope_m_per_s * turn_s();
}

double Groove::speed_m_per_s(double programme_s) const {
  return 2.0 * std::numbers::pi * radius_m(programme_s) / turn_s();
}

GroovePlace Groove::place(double programme_s) const {
  const double turns = programme_s * rpm_ / 60.0;
  const double whole = std::floor(turns);
  return {static_cast<std::int64_t>(whole), 360.0 * (turns - whole), radius_m(programme_s)};
}

Result<double> Groove::programme_s(double wanted_m, double angle_deg) const {
  const double outer_m = radius_m(0.0);
  const double inner_m = radius_m(duration_s_);
  if (!(wanted_m <= outer_m && wanted_m >= inner_m) || !std::isfinite(angle_deg))
    return Error{
        Fault::out_of_range,
        fmt::format("a radius of {:.2f} mm lies outside the recorded groove, {:.2f} to {:.2f} mm",
                    mm(wanted_m),
                    mm(inner_m),
                    mm(outer_m))};
  double low_s = 0.0;
  double high_s = duration_s_;
  for (int halving = 0; halving < 60; ++halving) {
    const double middle_s = (low_s + high_s) / 2.0;
    (radius_m(middle_s) > wanted_m ? low_s : high_s) = middle_s;
  }
  const double turn_part = angle_deg / 360.0 - std::floor(angle_deg / 360.0);
  double turn = std::max(std::round(low_s / turn_s() - turn_part), 0.0);
  if (turn > 0.0 && (turn + turn_part) * turn_s() > duration_s_) turn -= 1.0;
  return (turn + turn_part) * turn_s();
}

double Groove::length_m() const {
  // Simpson's rule is exact for a cubic; the knots and the programme's two ends bound the pieces.
  std::vector<double> ends_s{0.0, duration_s_};
  for (const Knot& knot : knots_)
    if (knot.programme_s > 0.0 && knot.programme_s < duration_s_)
      ends_s.push_back(knot.programme_s);
  std::sort(ends_s.begin(), ends_s.end());
  double length_m = 0.0;
  for (std::size_t k = 0; k + 1 < ends_s.size(); ++k) {
    const double from_s = ends_s[k];
    const double to_s = ends_s[k + 1];
    length_m +=
        (to_s - from_s) / 6.0 *
        (speed_m_per_s(from_s) + 4.0 * speed_m_per_s((from_s + to_s) / 2.0) + speed_m_per_s(to_s));
  }
  return length_m;
}

double playing_time_s(const GrooveBand& band, double rpm) {
  EXPECTS(band.pitch_m > 0.0 && rpm > 0.0);
  return (band.outer_radius_m - band.inner_radius_m) / band.pitch_m * 60.0 / rpm;
}

}  // namespace goodside::disc
