#include "compound/biscuit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/expects.hpp"
#include "stats/individuals.hpp"
#include "stats/interval.hpp"

namespace goodside::compound {
namespace {

using std::numbers::pi;
using works::BiscuitReport;
using works::BiscuitRequest;
using works::BiscuitScatter;

constexpr std::size_t fewest_weighed = 5;

bool lies_in(double value, double low, double high) {
  return value >= low && value <= high;
}

struct Range {
  std::string_view what, unit;
  double shown, low, high;  ///< in the unit
};

Outcome check(const Range& range) {
  if (lies_in(range.shown, range.low, range.high)) return Done{};
  return Error{Fault::out_of_range,
               fmt::format("{} of {:.4g}{} cannot be; give {:g} to {:g}{}",
                           range.what,
                           range.shown,
                           range.unit,
                           range.low,
                           range.high,
                           range.unit)};
}

Outcome check_profile(const works::DiscProfile& profile) {
  if (profile.points.size() < 2)
    return Error{Fault::bad_input, "a profile takes two points or more, hole to edge"};
  double last = 0.0;
  for (const auto& [radius_m, thickness_m] : profile.points) {
    for (const auto& outcome : {check({"a radius", " mm", 1e3 * radius_m, 0.0, 500.0}),
                                check({"a thickness", " mm", 1e3 * thickness_m, 0.05, 20.0})})
      if (!outcome) return outcome;
    if (radius_m < last)
      return Error{Fault::bad_input,
                   fmt::format("the radius of {:.4g} mm follows one of {:.4g} mm; give the profile "
                               "from the hole outwards",
                               1e3 * radius_m,
                               1e3 * last)};
    last = radius_m;
  }
  if (last <= profile.points.front().radius_m)
    return Error{Fault::bad_input, "the profile has no width; give radii from hole to edge"};
  return Done{};
}

Outcome check_grooves(const BiscuitRequest& request) {
  if (!request.grooves) return Done{};
  const auto& grooves = *request.grooves;
  if (!(grooves.outer_radius_m > grooves.inner_radius_m && grooves.inner_radius_m > 0.0 &&
        grooves.outer_radius_m <= request.profile.points.back().radius_m))
    return Error{
        Fault::bad_input,
        fmt::format("grooves from {:.4g} to {:.4g} mm radius do not lie on the disc; give the "
                    "recorded band",
                    1e3 * grooves.inner_radius_m,
                    1e3 * grooves.outer_radius_m)};
  for (const auto& outcome :
       {check({"a groove pitch", " um", 1e6 * grooves.pitch_m, 10.0, 5000.0}),
        check({"a groove width", " um", 1e6 * grooves.top_width_m, 1.0, 1000.0}),
        check({"a groove angle", " deg", grooves.included_angle_deg, 20.0, 150.0})})
    if (!outcome) return outcome;
  if (grooves.top_width_m > grooves.pitch_m)
    return Error{
        Fault::bad_input,
        fmt::format("a groove {:.4g} um wide does not fit a pitch of {:.4g} um; see which is "
                    "which",
                    1e6 * grooves.top_width_m,
                    1e6 * grooves.pitch_m)};
  return Done{};
}

Outcome check_all(const BiscuitRequest& request) {
  const auto above =
      [](const std::optional<double>& value, std::string_view what, double most_mm) -> Outcome {
    return value ? check({what, " mm", 1e3 * *value, 0.001, most_mm}) : Outcome{Done{}};
  };
  for (const auto& outcome :
       {check_profile(request.profile),
        check({"a density", " g/cm3", request.density_kg_per_m3 / 1e3, 0.5, 10.0}),
        check({"a shrinkage", "", request.shrinkage, 0.0, 0.1}),
        check({"a flash", "", request.flash, 0.0, 1.0}),
        check({"a least flash", "", request.least_flash, 0.0, 1.0}),
        check({"a most flash", "", request.most_flash, request.least_flash, 2.0}),
        check({"a share of scrap", "", request.scrap, 0.0, 0.99}),
        check({"a chance of falling short", "", request.short_chance, 1e-12, 0.5}),
        check({"a chance of coming out thick", "", request.thick_chance, 1e-12, 0.5}),
        check({"a scale's division", " g", 1e3 * request.division_kg, 1e-6, 100.0}),
        above(request.sheet_thickness_m, "a sheet thickness", 100.0),
        above(request.knife_m, "a distance of the knives", 1000.0),
        above(request.sheet_width_m, "a sheet width", 5000.0),
        above(request.puck_diameter_m, "a puck diameter", 500.0)})
    if (!outcome) return outcome;
  if (auto outcome = check_grooves(request); !outcome) return outcome;
  for (const auto& sigma :
       {request.sigma_kg, request.sheet_thickness_sigma_m, request.knife_sigma_m})
    if (sigma && !lies_in(*sigma, 0.0, 1.0))
      return Error{Fault::out_of_range,
                   "a scatter below nought, or beyond all measure; give its sigma"};
  if ((request.knife_m || request.sheet_width_m || request.sheet_thickness_sigma_m) &&
      !request.sheet_thickness_m)
    return Error{Fault::bad_input, "knives cut a sheet; give the sheet's thickness, as 4.5 mm"};
  for (std::size_t i = 0; i < request.weighed_kg.size(); ++i)
    if (!lies_in(request.weighed_kg[i], 1e-4, 10.0))
      return Error{Fault::bad_input,
                   fmt::format("biscuit {} weighs {:g} kg, which none does; mend the line",
                               i + 1,
                               request.weighed_kg[i])};
  return Done{};
}

/// The law that the next biscuit's mass follows about `mean_kg`.
class Law {
 public:
  Law(double sigma_kg, std::size_t weighed)
      : spread_kg_{weighed > 0 ? sigma_kg * std::sqrt(1.0 + 1.0 / static_cast<double>(weighed))
                               : sigma_kg},
        freedom_{weighed > 0 ? static_cast<double>(weighed) - 1.0 : 0.0} {}

  [[nodiscard]] double below(double mass_kg, double mean_kg) const {
    if (spread_kg_ <= 0.0) return mass_kg > mean_kg ? 1.0 : 0.0;
    const double z = (mass_kg - mean_kg) / spread_kg_;
    return freedom_ > 0.0 ? stats::student_t_below(z, freedom_) : stats::normal_below(z);
  }
  [[nodiscard]] double above(double mass_kg, double mean_kg) const {
    return below(2.0 * mean_kg - mass_kg, mean_kg);
  }
  /// How far the mean must lie from a limit so that `chance` lies beyond it.
  [[nodiscard]] double margin_kg(double chance) const { return margin(chance) * spread_kg_; }
  /// In sigmas of the biscuits.
  [[nodiscard]] double margin(double chance) const {
    return freedom_ > 0.0 ? stats::student_t_quantile(1.0 - chance, freedom_)
                          : stats::normal_quantile(1.0 - chance);
  }
  [[nodiscard]] double spread_per_sigma(double sigma_kg) const {
    return sigma_kg > 0.0 ? spread_kg_ / sigma_kg : 1.0;
  }

 private:
  double spread_kg_, freedom_;
};

/// Mean of what a normal mass has above the disc's.
double mean_flash_kg(double mean_kg, double sigma_kg, double disc_kg) {
  const double over_kg = mean_kg - disc_kg;
  if (sigma_kg <= 0.0) return std::max(0.0, over_kg);
  const double z = over_kg / sigma_kg;
  return over_kg * stats::normal_below(z) + sigma_kg * std::exp(-0.5 * z * z) / std::sqrt(2.0 * pi);
}

std::optional<double> told_sigma_kg(const BiscuitRequest& request, double biscuit_kg) {
  if (request.sigma_kg) return request.sigma_kg;
  if (!request.sheet_thickness_sigma_m && !request.knife_sigma_m) return std::nullopt;
  double squares = 0.0;
  if (request.sheet_thickness_sigma_m)
    squares += std::pow(*request.sheet_thickness_sigma_m / *request.sheet_thickness_m, 2);
  if (request.knife_sigma_m && request.knife_m) {
    squares += std::pow(*request.knife_sigma_m / *request.knife_m, 2);
  }
  return biscuit_kg * std::sqrt(squares);
}

BiscuitScatter scatter(const BiscuitReport& report,
                       double mean_kg,
                       double sigma_kg,
                       const Law& law) {
  BiscuitScatter at{.mean_kg = mean_kg,
                    .sigma_kg = sigma_kg,
                    .sigma_low_kg = {},
                    .sigma_high_kg = {},
                    .outside = {}};
  at.short_chance = law.below(report.short_below_kg, mean_kg);
  at.thick_chance = law.above(report.thick_above_kg, mean_kg);
  at.flash_kg = mean_flash_kg(mean_kg, sigma_kg, report.disc_kg);
  return at;
}

BiscuitScatter of_weighed(const BiscuitReport& report,
                          const stats::Individuals& chart,
                          const Law& law) {
  const auto& weighed = report.request.weighed_kg;
  auto now = scatter(report, chart.centre, chart.deviation, law);
  now.count = chart.count;
  const auto sigma = stats::deviation_interval(chart.deviation, chart.count - 1.0, 0.95);
  now.sigma_low_kg = sigma.low;
  now.sigma_high_kg = sigma.high;
  const double half_kg = stats::half_width(chart, 1);
  double flash_kg = 0.0;
  for (std::size_t i = 0; i < weighed.size(); ++i) {
    now.short_seen += weighed[i] < report.short_below_kg ? 1 : 0;
    now.thick_seen += weighed[i] > report.thick_above_kg ? 1 : 0;
    flash_kg += std::max(0.0, weighed[i] - report.disc_kg);
    if (std::abs(weighed[i] - chart.centre) > half_kg)
      now.outside.push_back(static_cast<int>(i) + 1);
  }
  now.flash_kg = flash_kg / static_cast<double>(weighed.size());
  return now;
}

void cut_it(BiscuitReport& report) {
  const auto& request = report.request;
  if (!request.sheet_thickness_m && !request.puck_diameter_m) return;
  works::BiscuitCut cut{.mass_kg = report.aim_kg.value_or(report.biscuit_kg),
                        .length_m = {},
                        .across = {},
                        .trim_m = {},
                        .puck_height_m = {}};
  const double volume_m3 = cut.mass_kg / request.density_kg_per_m3;
  if (request.sheet_thickness_m) {
    cut.area_m2 = volume_m3 / *request.sheet_thickness_m;
    cut.side_m = std::sqrt(cut.area_m2);
    if (request.knife_m) cut.length_m = cut.area_m2 / *request.knife_m;
    if (request.sheet_width_m) {
      const double width_m = request.knife_m.value_or(cut.side_m);
      cut.across = static_cast<int>(std::floor(*request.sheet_width_m / width_m + 1e-9));
      cut.trim_m = std::max(0.0, *request.sheet_width_m - *cut.across * width_m);
    }
  }
  if (request.puck_diameter_m)
    cut.puck_height_m =
        volume_m3 / (pi / 4.0 * *request.puck_diameter_m * *request.puck_diameter_m);
  report.cut = cut;
}

void spread(BiscuitReport& report) {
  const auto& request = report.request;
  std::optional<double> sigma_kg = told_sigma_kg(request, report.biscuit_kg);
  std::size_t weighed = 0;
  std::optional<stats::Individuals> chart;
  if (request.weighed_kg.size() >= fewest_weighed) {
    chart = stats::individuals(request.weighed_kg);
    sigma_kg = chart->deviation;
    weighed = request.weighed_kg.size();
  }
  if (!sigma_kg) return;
  const Law law{*sigma_kg, weighed};
  report.now =
      chart ? of_weighed(report, *chart, law) : scatter(report, report.biscuit_kg, *sigma_kg, law);
  const double exact_kg = report.short_below_kg + law.margin_kg(request.short_chance);
  report.aim_kg = std::ceil(exact_kg / request.division_kg - 1e-9) * request.division_kg;
  report.aimed = scatter(report, *report.aim_kg, *sigma_kg, law);
  report.widest_sigma_kg = (report.thick_above_kg - report.short_below_kg) /
                           ((law.margin(request.short_chance) + law.margin(request.thick_chance)) *
                            law.spread_per_sigma(*sigma_kg));
}

void judge(BiscuitReport& report) {
  const auto& request = report.request;
  if (request.weighed_kg.size() > 0 && request.weighed_kg.size() < fewest_weighed)
    report.remarks.push_back(fmt::format("{} biscuits tell no scatter; weigh {} or more",
                                         request.weighed_kg.size(),
                                         fewest_weighed));
  if (request.flash < request.least_flash || request.flash > request.most_flash) {
    report.remarks.push_back(
        fmt::format("the flash aimed at, {:.3g} %, lies outside {:.3g} to {:.3g} %",
                    1e2 * request.flash,
                    1e2 * request.least_flash,
                    1e2 * request.most_flash));
    report.is_within = false;
  }
  if (!report.now) return;
  const auto& now = *report.now;
  if (now.count > 0 && now.short_chance > request.short_chance) report.is_within = false;
  if (now.count > 0 && now.thick_chance > request.thick_chance) report.is_within = false;
  if (report.aimed->thick_chance > request.thick_chance) {
    report.remarks.push_back(
        fmt::format("the biscuits scatter by {:.3g} g, too wide for both limits at any mean; bring "
                    "it to {:.3g} g",
                    1e3 * now.sigma_kg,
                    1e3 * report.widest_sigma_kg));
    report.is_within = false;
  }
  if (now.count == 0 && now.short_chance > request.short_chance) report.is_within = false;
  if (!now.outside.empty())
    report.remarks.push_back(fmt::format(
        "biscuit{} {} lie{} outside what the others foretell; look for what changed there",
        now.outside.size() == 1 ? "" : "s",
        fmt::join(now.outside.begin(),
                  now.outside.begin() + std::min<std::ptrdiff_t>(8, std::ssize(now.outside)),
                  ", "),
        now.outside.size() == 1 ? "s" : ""));
}

}  // namespace

double profile_volume_m3(const works::DiscProfile& profile) {
  EXPECTS(profile.points.size() >= 2);
  double sum = 0.0;
  for (std::size_t i = 1; i < profile.points.size(); ++i) {
    const auto& [r1, t1] = profile.points[i - 1];
    const auto& [r2, t2] = profile.points[i];
    sum += (r2 - r1) * (t1 * (2.0 * r1 + r2) + t2 * (r1 + 2.0 * r2)) / 6.0;
  }
  return 2.0 * pi * sum;
}

double groove_volume_m3(const works::Grooves& grooves) {
  const double half_angle = grooves.included_angle_deg * pi / 360.0;
  const double section_m2 =
      grooves.top_width_m * grooves.top_width_m / (4.0 * std::tan(half_angle));
  const double band_m2 = pi * (grooves.outer_radius_m * grooves.outer_radius_m -
                               grooves.inner_radius_m * grooves.inner_radius_m);
  return grooves.sides * band_m2 / grooves.pitch_m * section_m2;
}

Result<works::DiscProfile> profile_of(const PlainDisc& disc) {
  const double hole = disc.hole_m / 2.0, edge = disc.diameter_m / 2.0;
  const double label = disc.label_diameter_m / 2.0, rim = edge - disc.rim_width_m;
  if (!(hole >= 0.0 && edge > hole))
    return Error{
        Fault::bad_input,
        fmt::format("a disc of {:.4g} mm with a hole of {:.4g} mm is none; see which is which",
                    1e3 * disc.diameter_m,
                    1e3 * disc.hole_m)};
  if (label > 0.0 && !(label > hole && label <= rim))
    return Error{
        Fault::bad_input,
        fmt::format("a label of {:.4g} mm does not lie between hole and rim; mend its diameter",
                    1e3 * disc.label_diameter_m)};
  if (!(disc.rim_width_m >= 0.0 && rim > std::max(hole, label)))
    return Error{Fault::bad_input,
                 fmt::format("a rim {:.4g} mm wide leaves no groove area; mend its width",
                             1e3 * disc.rim_width_m)};
  works::DiscProfile profile;
  const auto ring = [&](double from, double to, double thickness_m) {
    if (to <= from) return;
    profile.points.push_back({from, thickness_m});
    profile.points.push_back({to, thickness_m});
  };
  const double groove_from = label > 0.0 ? label : hole;
  if (label > 0.0) ring(hole, label, disc.label_thickness_m);
  ring(groove_from, rim, disc.thickness_m);
  ring(rim, edge, disc.rim_thickness_m);
  return profile;
}

Result<BiscuitReport> biscuit(const BiscuitRequest& request) {
  if (const auto checked = check_all(request); !checked) return checked.error();
  BiscuitReport report;
  report.request = request;
  const double cold = request.profile_of_mould ? std::pow(1.0 - request.shrinkage, 3) : 1.0;
  if (request.grooves) report.groove_volume_m3 = groove_volume_m3(*request.grooves);
  report.volume_m3 = profile_volume_m3(request.profile) * cold - report.groove_volume_m3;
  if (report.volume_m3 <= 0.0)
    return Error{Fault::bad_input, "the grooves take more than the disc has; mend width or pitch"};
  report.disc_kg = request.density_kg_per_m3 * report.volume_m3;
  report.biscuit_kg = report.disc_kg * (1.0 + request.flash);
  report.short_below_kg = report.disc_kg * (1.0 + request.least_flash);
  report.thick_above_kg = report.disc_kg * (1.0 + request.most_flash);
  spread(report);
  cut_it(report);
  const double flash = report.aim_kg ? *report.aim_kg / report.disc_kg - 1.0 : request.flash;
  report.regrind_share = 1.0 - (1.0 - request.scrap) / (1.0 + flash);
  judge(report);
  report.cautions = {
      "Rolls and knives: nip points kill and hot stock burns. Guards and trip bars in place, lock "
      "out "
      "before reaching in.",
      "A mill for flash and scrap throws dust and noise: extraction, mask, hearing protection, "
      "interlock. Local codes and licensed practice decide; this answer does not."};
  return report;
}

}  // namespace goodside::compound
