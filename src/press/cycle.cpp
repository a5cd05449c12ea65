#include "press/cycle.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/expects.hpp"
#include "press/stack.hpp"
#include "press/steam.hpp"

namespace goodside::press {
namespace {

constexpr double atmosphere_Pa = 101325.0;
constexpr double first_step_s = 0.002, step_growth = 1.25, longest_step_s = 0.25;
constexpr double longest_moving_s = 0.1, most_thinning = 0.03;
constexpr double still_m_per_s = 1e-6;
enum Reservoir : std::size_t { channel_a, channel_b, back_a, back_b, face_a, face_b, reservoirs };
enum class Phase { off, steam, drain, water };

double area_m2(double diameter_m) {
  return 0.25 * std::numbers::pi * diameter_m * diameter_m;
}

/// One run through the cycle.
class Run {
 public:
  Run(const CycleSetup& setup, const State& state, const CycleOptions& options)
      : setup_{setup},
        options_{options},
        stack_{setup, options.numerics.refine},
        column_{stack_.cells(), setup.biscuit.temperature_K},
        first_{stack_.first_compound()},
        end_{stack_.end_compound()},
        area_{area_m2(setup.disc.diameter_m)},
        density_{setup.compound.density_kg_per_m3} {
    EXPECTS(state.size() == column_.size() - (end_ - first_));
    for (std::size_t i = 0, j = 0; i < column_.size(); ++i)
      if (i < first_ || i >= end_) column_.set_temperature(i, state[j++]);
    closing_ = {.exponent = setup.compound.flow.exponent,
                .conductance = 0.0,
                .force_N = setup.force_N,
                .speed_m_per_s = setup.closing_speed_m_per_s,
                .volume_m3 = setup.biscuit.mass_kg / density_,
                .full_radius_m = 0.5 * setup.disc.diameter_m,
                .stop_m = setup.stop()};
    law_ = setup.compound.flow;
    law_.consistency_Pa_sn *= setup.factors.consistency;
    gap_ = closing_.volume_m3 / area_m2(setup.biscuit.diameter_m);
    shape();
    join(false);
    prepare_exchanges();
    const std::size_t places = end_ - first_ + 2;
    warmest_.assign(places, 0.0);
    before_.assign(places, 0.0);
    passed_.assign(places, std::nullopt);
    source_.assign(column_.size(), 0.0);
    result_.balance.biscuit_J = compound_J();
    dies_J_ = dies_J();
  }

  CycleResult take() {
    const Schedule& at = setup_.schedule;
    note();
    through(at.steam_on_s(), Phase::off);
    keep_profile("steam on");
    through(at.open_s, Phase::steam);
    meet();
    through(at.steam_off_s(), Phase::steam);
    keep_profile("steam off");
    through(at.water_on_s(), Phase::drain);
    through(at.water_off_s(), Phase::water);
    through(at.period_s(), Phase::off);
    keep_profile("opening");
    finish();
    return std::move(result_);
  }

 private:
  // --- the stack
  [[nodiscard]] std::size_t places() const { return end_ - first_ + 2; }
  void join(bool closed) {
    column_.cell(first_ - 1).joined = closed;
    column_.cell(end_ - 1).joined = closed;
  }
  /// The compound at this gap, over the part of the disc's area that it covers.
  void shape() {
    const double share = std::min(1.0, closing_.volume_m3 / gap_ / area_);
    for (std::size_t i = first_; i < end_; ++i) {
      column_.cell(i).thickness_m =
          gap_ * (stack_.bounds()[i - first_ + 1] - stack_.bounds()[i - first_]);
      column_.cell(i).share = share;
    }
  }
  [[nodiscard]] double compound_J() const {
    const double from = ambient_J_per_m3();
    double sum = 0.0;
    for (std::size_t i = first_; i < end_; ++i)
      sum -= from * column_.cell(i).thickness_m * column_.cell(i).share;
    return area_ * (sum + column_.heat_J_per_m2(first_, end_));
  }
  [[nodiscard]] double ambient_J_per_m3() const {
    return column_.cell(first_).heat->heat_J_per_m3(setup_.ambient_K);
  }
  [[nodiscard]] double dies_J() const {
    return area_ * (column_.heat_J_per_m2(0, first_) + column_.heat_J_per_m2(end_, column_.size()));
  }

  // --- what comes in
  void prepare_exchanges() {
    for (std::size_t s = 0; s < 2; ++s) {
      const auto films = channel_exchange(setup_, setup_.sides[s]);
      EXPECTS(films.has_value());
      films_[s] = *films;
      supply_Pa_[s] = atmosphere_Pa + setup_.sides[s].steam_gauge_Pa;
    }
    exchanges_[channel_a] = {.cell = stack_.channel()[0], .plane = true};
    exchanges_[channel_b] = {.cell = stack_.channel()[1], .plane = true};
    exchanges_[back_a] = {.cell = 0};
    exchanges_[back_b] = {.cell = column_.size() - 1};
    exchanges_[face_a] = {.cell = first_ - 1};
    exchanges_[face_b] = {.cell = end_};
    for (const auto back : {back_a, back_b}) {
      exchanges_[back].film_W_per_m2K = setup_.back_loss_W_per_m2K;
      exchanges_[back].temperature_K = setup_.ambient_K;
    }
    for (const auto face : {face_a, face_b}) {
      exchanges_[face].film_W_per_m2K = setup_.face_loss_W_per_m2K;
      exchanges_[face].temperature_K = setup_.ambient_K;
    }
  }
  [[nodiscard]] double steam_Pa(std::size_t side, double since_s) const {
    return supply_Pa_[side] -
           (supply_Pa_[side] - atmosphere_Pa) * std::exp(-since_s / setup_.steam_lag_s);
  }
  void set_channels(Phase phase, double at_s, std::span<Exchange> exchanges) const {
    for (std::size_t s = 0; s < 2; ++s) {
      Exchange& one = exchanges[channel_a + s];
      one.film_W_per_m2K = 0.0;
      if (phase == Phase::steam) {
        const auto hot = saturation_temperature_K(steam_Pa(s, at_s - setup_.schedule.steam_on_s()));
        one.temperature_K = *hot;
        // Steam gives heat and takes none back: a channel hotter than it holds no condensate.
        if (channel_K(s) < *hot) one.film_W_per_m2K = films_[s].steam_W_per_m2K;
      } else if (phase == Phase::water) {
        one.temperature_K = setup_.sides[s].water_temperature_K;
        one.film_W_per_m2K =
            -films_[s].water_W_per_m2K *
            std::expm1(-(at_s - setup_.schedule.water_on_s()) / setup_.water_lag_s);
      }
    }
  }
  [[nodiscard]] double channel_K(std::size_t side) const {
    return column_.plane_K(exchanges_[channel_a + side]);
  }

  // --- time
  void through(double until_s, Phase phase) {
    double step_s = first_step_s / options_.numerics.refine;
    while (until_s - time_s_ > 1e-9) {
      const double left_s = until_s - time_s_;
      double dt = std::min(step_s, longest_step_s / options_.numerics.refine);
      if (closed_ && !seated_) dt = std::min(dt, moving_step_s());
      if (dt > 0.6 * left_s) dt = left_s > 1.2 * dt ? 0.5 * left_s : left_s;
      advance(dt, phase);
      step_s = std::min(step_s, dt) * (1.0 + (step_growth - 1.0) / options_.numerics.refine);
    }
    time_s_ = until_s;
  }
  /// While the gap closes: short against its thinning.
  double moving_step_s() {
    flow();
    const double speed = closing_.speed_at(gap_);
    if (speed < still_m_per_s) return longest_step_s;
    return std::min(longest_moving_s, most_thinning * gap_ / speed) / options_.numerics.refine;
  }
  /// How the gap lets through at the temperatures of now.
  void flow() {
    if (flow_at_s_ == time_s_) return;
    gap_flow(
        law_, stack_.bounds(), column_.temperature_K().subspan(first_, end_ - first_), gap_flow_);
    closing_.conductance = gap_flow_.conductance;
    flow_at_s_ = time_s_;
  }

  void advance(double dt, Phase phase) {
    double work_J = 0.0, next_gap = gap_;
    if (closed_ && !seated_) {
      flow();
      const double now = gap_flow_.conductance;
      // At the middle of the step, as the last one foretells it.
      if (last_conductance_ > 0.0 && now > 0.0)
        closing_.conductance =
            now * std::exp(std::clamp(
                      0.5 * dt / last_dt_ * std::log(now / last_conductance_), -0.5, 0.5));
      last_conductance_ = now;
      last_dt_ = dt;
      result_.peak_force_N = std::max(result_.peak_force_N, closing_.force_at(gap_));
      const auto moved = closing_.close(gap_, dt);
      next_gap = moved.gap_m;
      work_J = moved.work_J;
      mark_fill(next_gap, dt);
    }
    const double half_gap = 0.5 * (gap_ + next_gap);
    leave(half_gap);
    std::ranges::fill(source_, 0.0);
    if (work_J > 0.0)
      for (std::size_t i = first_; i < end_; ++i)
        source_[i] = work_J / (dt * area_) * gap_flow_.dissipated[i - first_];
    std::array<double, reservoirs> given{};
    const double begin_s = time_s_;
    column_.step(
        dt,
        exchanges_,
        [&](double after_s, std::span<Exchange> exchanges) {
          set_channels(phase, begin_s + after_s, exchanges);
        },
        source_,
        given);
    leave(next_gap);
    account(given, work_J, phase);
    time_s_ += dt;
    note();
    watch(dt);
  }

  /// To a new gap; what a full mould cannot hold leaves with its heat.
  void leave(double gap) {
    if (gap == gap_) return;
    const double before = compound_J();
    gap_ = gap;
    shape();
    result_.balance.flash_J += before - compound_J();
  }
  void mark_fill(double next_gap, double dt) {
    const double full = closing_.full_gap_m();
    const auto reached = [&](double target) {
      const double share = gap_ > next_gap ? (gap_ - target) / (gap_ - next_gap) : 1.0;
      return time_s_ + dt * std::clamp(share, 0.0, 1.0);
    };
    if (!result_.full_s && next_gap <= full * (1.0 + 1e-9)) result_.full_s = reached(full);
    if (next_gap <= closing_.stop_m * (1.0 + 1e-12)) {
      seated_ = true;
      result_.seated_s = reached(closing_.stop_m);
    }
  }
  void account(const std::array<double, reservoirs>& given, double work_J, Phase phase) {
    Balance& balance = result_.balance;
    balance.press_work_J += work_J;
    for (std::size_t s = 0; s < 2; ++s) {
      (phase == Phase::water ? balance.water_J : balance.steam_J)[s] +=
          area_ * given[channel_a + s];
      balance.back_J[s] += area_ * given[back_a + s];
      balance.open_J[s] += area_ * given[face_a + s];
    }
  }
  void meet() {
    keep_profile("closing");
    closed_ = true;
    join(true);
    for (const auto face : {face_a, face_b}) exchanges_[face].film_W_per_m2K = 0.0;
    if (gap_ <= closing_.stop_m) seated_ = true;
    if (seated_ && closing_.full_gap_m() >= gap_) result_.full_s = time_s_;
    note();
  }

  // --- what is seen
  /// Of the compound at A's face, through its cells, at B's face.
  [[nodiscard]] double place_K(std::size_t place) const {
    if (place == 0) return now_.groove_K[0];
    if (place + 1 == places()) return now_.groove_K[1];
    return column_.temperature_K()[first_ + place - 1];
  }
  [[nodiscard]] std::string place_name(std::size_t place) const {
    if (place == 0) return "groove face A";
    if (place + 1 == places()) return "groove face B";
    const double depth = 0.5 * (stack_.bounds()[place - 1] + stack_.bounds()[place]);
    if (depth < 0.1) return "beneath groove face A";
    if (depth > 0.9) return "beneath groove face B";
    if (depth < 0.35) return "between A and the middle";
    return depth > 0.65 ? "between the middle and B" : "the middle";
  }
  void note() {
    now_ = {};
    now_.time_s = time_s_;
    now_.gap_m = closed_ ? gap_ : 0.0;
    now_.closed = closed_;
    const auto at = column_.temperature_K();
    if (closed_) {
      const auto a = column_.faces(first_ - 1), b = column_.faces(end_ - 1);
      now_.face_K = {a.before_K, b.behind_K};
      now_.groove_K = {a.behind_K, b.before_K};
      const std::size_t middle = (first_ + end_) / 2;
      // Through the four cells about it; beside it cells are even.
      now_.middle_K =
          (9.0 * (at[middle - 1] + at[middle]) - at[middle - 2] - at[middle + 1]) / 16.0;
      now_.coldest_K = now_.hottest_K = now_.groove_K[0];
      for (std::size_t p = 1; p < places(); ++p) {
        now_.coldest_K = std::min(now_.coldest_K, place_K(p));
        now_.hottest_K = std::max(now_.hottest_K, place_K(p));
      }
      now_.radius_m = closing_.radius_at(gap_);
      now_.force_N = seated_ ? setup_.force_N : closing_.force_at(gap_);
    } else {
      now_.face_K = {at[first_ - 1], at[end_]};
    }
    for (std::size_t s = 0; s < 2; ++s) {
      now_.channel_K[s] = channel_K(s);
      const double since_s = time_s_ - setup_.schedule.steam_on_s();
      if (since_s >= 0.0 && time_s_ <= setup_.schedule.steam_off_s())
        now_.steam_Pa[s] = steam_Pa(s, since_s);
    }
    for (const SteelPlace& place : options_.steel) now_.steel_K.push_back(steel_K(place));
    if (options_.keep_moments) result_.moments.push_back(now_);
  }
  /// Straight between the middles of cells, from the seat outwards.
  [[nodiscard]] double steel_K(const SteelPlace& place) const {
    std::size_t cell = stack_.seat()[place.side];
    double middle = 0.5 * column_.cell(cell).thickness_m, last_middle = middle;
    double last_K = column_.temperature_K()[cell];
    const std::size_t end = place.side == 0 ? 0 : column_.size() - 1;
    while (middle < place.depth_m && cell != end) {
      last_middle = middle;
      last_K = column_.temperature_K()[cell];
      const double half = 0.5 * column_.cell(cell).thickness_m;
      cell = place.side == 0 ? cell - 1 : cell + 1;
      middle += half + 0.5 * column_.cell(cell).thickness_m;
    }
    const double here = column_.temperature_K()[cell];
    if (middle <= last_middle) return here;
    const double share = std::min(1.0, (place.depth_m - last_middle) / (middle - last_middle));
    return last_K + share * (here - last_K);
  }
  /// Flowing and setting, place by place.
  void watch(double dt) {
    if (!closed_) return;
    const double flow_K = setup_.compound.flow_temperature_K;
    const double set_K = setup_.compound.set_temperature_K;
    const bool full = result_.full_s.has_value();
    for (std::size_t p = 0; p < places(); ++p) {
      const double here = place_K(p);
      if (here > result_.peak_K) {
        result_.peak_K = here;
        result_.hottest_place = place_name(p);
      }
      if (full && !was_full_) warmest_[p] = 0.0;  // only what is full and pressed counts
      warmest_[p] = std::max(warmest_[p], here);
      if (full && !passed_[p] && here >= flow_K) {
        const double before = before_[p];
        const double share = before < flow_K ? (flow_K - before) / (here - before) : 0.0;
        passed_[p] = std::max(*result_.full_s, time_s_ - dt * (1.0 - share));
      }
    }
    was_full_ = full;
    if (last_hottest_K_ >= set_K && now_.hottest_K < set_K) {
      const double share = (last_hottest_K_ - set_K) / (last_hottest_K_ - now_.hottest_K);
      result_.set_s = time_s_ - dt * (1.0 - share);
      set_profile(share);
    } else if (now_.hottest_K >= set_K) {
      result_.set_s.reset();
    }
    last_hottest_K_ = now_.hottest_K;
    for (std::size_t p = 0; p < places(); ++p) before_[p] = place_K(p);
  }
  /// The profile as it was `share` of the way through the last step.
  void set_profile(double share) {
    std::vector<double> depth, temperature;
    std::size_t hottest = 0;
    for (std::size_t p = 0; p < places(); ++p) {
      const double z = p == 0              ? 0.0
                       : p + 1 == places() ? 1.0
                                           : 0.5 * (stack_.bounds()[p - 1] + stack_.bounds()[p]);
      depth.push_back(gap_ * z);
      temperature.push_back(before_[p] + share * (place_K(p) - before_[p]));
      if (temperature[p] > temperature[hottest]) hottest = p;
    }
    result_.last_to_set = place_name(hottest);
    result_.unevenness_at_setting_K = temperature.front() - temperature.back();
    result_.dish_m =
        dish_m({.expansion_per_K = setup_.compound.expansion_per_K, .radius_m = now_.radius_m},
               depth,
               temperature,
               gap_);
    keep_profile("setting");
  }
  void keep_profile(const char* when) {
    if (!options_.keep_moments) return;
    Profile profile{.time_s = time_s_, .when = when, .depth_m = {}, .temperature_K = {}};
    double depth = 0.0;
    for (std::size_t i = 0; i < column_.size(); ++i) {
      const bool compound = i >= first_ && i < end_;
      if (compound && !closed_) continue;
      profile.depth_m.push_back(depth + 0.5 * column_.cell(i).thickness_m);
      profile.temperature_K.push_back(column_.temperature_K()[i]);
      depth += column_.cell(i).thickness_m;
    }
    result_.profiles.push_back(std::move(profile));
  }

  // --- the end
  void finish() {
    CycleResult& out = result_;
    out.period_s = setup_.schedule.period_s();
    out.discs_per_hour = 3600.0 / out.period_s;
    out.final_gap_m = gap_;
    out.final_radius_m = closing_.radius_at(gap_);
    out.opening_hottest_K = now_.hottest_K;
    out.unevenness_at_opening_K = now_.groove_K[0] - now_.groove_K[1];
    if (!out.set_s) {  // it bends as it left the press
      set_profile(1.0);
      out.last_to_set.clear();
    }
    const auto least = std::ranges::min_element(warmest_);
    out.least_flow_K = *least;
    out.coldest_place = place_name(static_cast<std::size_t>(least - warmest_.begin()));
    if (std::ranges::all_of(passed_, [](const auto& one) { return one.has_value(); }))
      for (const auto& one : passed_) out.flowed_s = std::max(out.flowed_s.value_or(0.0), *one);
    out.balance.disc_J = compound_J();
    out.balance.stored_J = dies_J() - dies_J_;
    const double heat_capacity =
        setup_.biscuit.mass_kg * setup_.factors.heat_capacity *
        setup_.compound.heat_capacity_J_per_kgK.at(setup_.biscuit.temperature_K);
    out.squeeze_rise_K = out.balance.press_work_J / heat_capacity;
    out.disc_mass_kg =
        std::min(setup_.biscuit.mass_kg,
                 density_ * gap_ * std::numbers::pi * out.final_radius_m * out.final_radius_m);
    out.flash_mass_kg = setup_.biscuit.mass_kg - out.disc_mass_kg;
    for (std::size_t i = 0; i < column_.size(); ++i)
      if (i < first_ || i >= end_) out.end.push_back(column_.temperature_K()[i]);
    utilities();
  }
  void utilities() {
    const double die = area_m2(setup_.die_diameter_m), wider = die / area_;
    for (std::size_t s = 0; s < 2; ++s) {
      const Side& side = setup_.sides[s];
      const auto steam = saturated_at_pressure(supply_Pa_[s]);
      EXPECTS(steam.has_value());
      const double bores = die / side.channel_pitch_m * area_m2(side.channel_diameter_m);
      const double used =
          wider * std::max(0.0, result_.balance.steam_J[s]) / steam->latent_heat_J_per_kg() +
          bores * steam->vapour.density_kg_per_m3;
      const double drawn = used / (1.0 - setup_.steam_lost);
      result_.steam_kg += drawn;
      const auto feed =
          liquid_state({.pressure_Pa = supply_Pa_[s], .temperature_K = setup_.feed_water_K});
      const double feed_J_per_kg = feed ? feed->enthalpy_J_per_kg : 0.0;
      result_.energy_J += drawn * (steam->vapour.enthalpy_J_per_kg - feed_J_per_kg);
      result_.water_kg += side.water_flow_kg_per_s * setup_.schedule.water_s;
    }
    result_.energy_J += result_.balance.press_work_J;
  }

  const CycleSetup& setup_;
  const CycleOptions& options_;
  Stack stack_;
  Column column_;
  std::size_t first_, end_;
  double area_, density_;
  FlowLaw law_;
  Closing closing_;
  GapFlow gap_flow_;
  double gap_{}, time_s_{}, dies_J_{};
  bool closed_{}, seated_{}, was_full_{};
  double flow_at_s_{-1.0}, last_conductance_{}, last_dt_{1.0}, last_hottest_K_{};
  std::array<ChannelExchange, 2> films_{};
  std::array<double, 2> supply_Pa_{};
  std::array<Exchange, reservoirs> exchanges_{};
  std::vector<double> warmest_, before_, source_;
  std::vector<std::optional<double>> passed_;
  Moment now_;
  CycleResult result_;
};

}  // namespace

double Balance::moved_J() const {
  double moved = press_work_J + std::abs(biscuit_J) + std::abs(disc_J) + std::abs(flash_J);
  for (std::size_t s = 0; s < 2; ++s)
    moved +=
        std::abs(steam_J[s]) + std::abs(water_J[s]) + std::abs(back_J[s]) + std::abs(open_J[s]);
  return moved;
}

double Balance::gap_J() const {
  double in = press_work_J + biscuit_J;
  for (std::size_t s = 0; s < 2; ++s) in += steam_J[s] + water_J[s] + back_J[s] + open_J[s];
  return in - disc_J - flash_J - stored_J;
}

CycleResult run_cycle(const CycleSetup& setup, const State& state, const CycleOptions& options) {
  return Run{setup, state, options}.take();
}

double dish_m(const SetProfile& profile,
              const std::vector<double>& depth_m,
              const std::vector<double>& temperature_K,
              double thickness_m) {
  EXPECTS(depth_m.size() == temperature_K.size() && thickness_m > 0.0);
  const double h = thickness_m;
  double moment = 0.0;  // of straight pieces, exactly
  for (std::size_t i = 0; i + 1 < depth_m.size(); ++i) {
    const double a = depth_m[i] - 0.5 * h, b = depth_m[i + 1] - 0.5 * h;
    const double p = temperature_K[i], q = temperature_K[i + 1];
    moment += (b - a) / 6.0 * (p * (2.0 * a + b) + q * (a + 2.0 * b));
  }
  const double curvature = 12.0 / (h * h * h) * profile.expansion_per_K * moment;
  return 0.5 * curvature * profile.radius_m * profile.radius_m;
}

}  // namespace goodside::press
