#include "disc/played_path.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace goodside::disc {
namespace {

constexpr double tau = 2.0 * std::numbers::pi;
constexpr double needle_down_usual_s = 0.4;
constexpr double silence_at_end_s = 0.4;
constexpr double longest_lead_s = 60.0;
constexpr int most_turns = 100;

struct Seam {
  double programme_s;
  int turns;  ///< + ahead, - back
  int times;
  int plan;
};

Result<std::vector<Seam>> seams_of(const works::PlayedSide& played, const Groove& groove) {
  using works::PlannedKind;
  std::vector<Seam> seams;
  for (std::size_t k = 0; k < played.faults.size(); ++k) {
    const works::FaultPlan& plan = played.faults[k];
    const bool ahead = plan.kind == PlannedKind::jump;
    const bool locked = plan.kind == PlannedKind::locked;
    if (!ahead && !locked && plan.kind != PlannedKind::repeat) continue;
    const int turns = plan.turns == 0 ? 1 : plan.turns;
    if (turns < 1 || turns > most_turns)
      return Error{Fault::bad_input,
                   fmt::format("a jump over {} turns; give 1 to {}", plan.turns, most_turns)};
    const auto programme_s = planned_programme_s(plan, groove);
    if (!programme_s) return programme_s.error();
    const Seam seam{*programme_s,
                    ahead    ? turns
                    : locked ? -1
                             : -turns,
                    locked ? turns : 1,
                    static_cast<int>(k)};
    const double lands_s = seam.programme_s + seam.turns * groove.turn_s();
    if (lands_s < 0.0 || lands_s > groove.duration_s())
      return Error{
          Fault::out_of_range,
          fmt::format(
              "the jump at {:.2f} s would land at {:.2f} s, outside the programme of {:.2f} s",
              seam.programme_s,
              lands_s,
              groove.duration_s())};
    seams.push_back(seam);
  }
  std::stable_sort(seams.begin(), seams.end(), [](const Seam& a, const Seam& b) {
    return a.programme_s < b.programme_s;
  });
  return seams;
}

}  // namespace

Result<double> planned_programme_s(const works::FaultPlan& plan, const Groove& groove) {
  if (plan.radius_m && plan.angle_deg) return groove.programme_s(*plan.radius_m, *plan.angle_deg);
  if (!(plan.programme_s >= 0.0 && plan.programme_s <= groove.duration_s()))
    return Error{Fault::out_of_range,
                 fmt::format("a fault at {:.3f} s lies outside the programme of {:.3f} s",
                             plan.programme_s,
                             groove.duration_s())};
  return plan.programme_s;
}

PlayedPath::PlayedPath(const works::PlayedSide& played,
                       const Groove& groove,
                       const Tracking& tracking)
    : groove_{groove}, tracking_{tracking}, platter_{played.side.rpm, played.drive, played.seed} {}

Result<PlayedPath> PlayedPath::of(const works::PlayedSide& played,
                                  const Groove& groove,
                                  double finishing_radius_m) {
  const auto tracking = Tracking::of(played, groove, finishing_radius_m);
  if (!tracking) return tracking.error();
  PlayedPath path{played, groove, *tracking};
  if (const Outcome laid = path.lay_stretches(played); !laid) return laid.error();
  return path;
}

double PlayedPath::time_s(double programme, const PlayedStretch& stretch) const {
  const double platter_rad = tracking_.platter_rad(programme) - tau * stretch.turns;
  return platter_.time_s(platter_rad - platter_at_start_rad_) + start_s_;
}

double PlayedPath::programme_s(double time, const PlayedStretch& stretch) const {
  const double platter_rad = platter_.angle_rad(time - start_s_) + platter_at_start_rad_;
  return tracking_.programme_s(platter_rad + tau * stretch.turns);
}

double PlayedPath::programme_s(double time) const {
  const auto after = std::upper_bound(
      stretches_.begin() + 1, stretches_.end(), time, [](double t, const PlayedStretch& s) {
        return t < s.from_s;
      });
  return programme_s(time, *(after - 1));
}

std::vector<double> PlayedPath::times_s(double programme) const {
  std::vector<double> times;
  for (const PlayedStretch& stretch : stretches_)
    if (programme >= stretch.programme_from_s && programme < stretch.programme_to_s)
      times.push_back(time_s(programme, stretch));
  return times;
}

Outcome PlayedPath::lay_stretches(const works::PlayedSide& played) {
  const bool excerpt = played.from_s.has_value() || played.to_s.has_value();
  const double begin_s = played.from_s.value_or(0.0);
  const double finish_s =
      std::min(played.to_s.value_or(groove_.duration_s()), groove_.duration_s());
  if (!(begin_s >= 0.0 && begin_s < finish_s))
    return Error{
        Fault::bad_input,
        fmt::format(
            "an excerpt from {} s to {} s does not lie in a programme of {:.2f} s; give two "
            "times within it, the earlier first",
            begin_s,
            finish_s,
            groove_.duration_s())};
  for (const double lead_s : {played.lead_in_s, played.run_out_s})
    if (!(lead_s >= 0.0 && lead_s <= longest_lead_s))
      return Error{
          Fault::out_of_range,
          fmt::format("a lead-in or run-out of {} s; give 0 to {} s", lead_s, longest_lead_s)};

  needle_down_s_ = excerpt ? -1.0 : needle_down_usual_s;
  start_s_ = excerpt ? 0.0 : needle_down_s_ + played.lead_in_s;
  platter_at_start_rad_ = tracking_.platter_rad(begin_s);

  auto seams = seams_of(played, groove_);
  if (!seams) return seams.error();

  PlayedStretch open;
  open.programme_from_s = excerpt ? begin_s : programme_s(0.0, open);
  while (true) {
    const auto next = std::find_if(seams->begin(), seams->end(), [&](const Seam& seam) {
      return seam.times > 0 && seam.programme_s > open.programme_from_s &&
             seam.programme_s < finish_s;
    });
    if (next == seams->end()) break;
    --next->times;
    open.programme_to_s = next->programme_s;
    open.to_s = time_s(next->programme_s, open);
    stretches_.push_back(open);
    open.from_s = open.to_s;
    open.turns += next->turns;
    open.plan = next->plan;
    open.programme_from_s = programme_s(open.from_s, open);
  }
  if (open.programme_from_s >= finish_s)
    return Error{Fault::out_of_range,
                 "a jump leads out of the part that is played; move it or play on"};
  const double programme_end_s = time_s(finish_s, open);
  needle_up_s_ = excerpt ? programme_end_s + 1.0 : programme_end_s + played.run_out_s;
  end_s_ = excerpt ? programme_end_s : needle_up_s_ + silence_at_end_s;
  open.to_s = end_s_;
  open.programme_to_s = excerpt ? finish_s : programme_s(end_s_, open);
  stretches_.push_back(open);
  return Done{};
}

}  // namespace goodside::disc
