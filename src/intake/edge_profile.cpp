#include "intake/edge_profile.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace goodside::intake {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double step_px = 0.5;
constexpr double own_scatter_px = 0.02;
constexpr double mad_to_sigma = 1.4826;
constexpr double half_height_to_sigma = 1.1774;
constexpr double most_grey = 255.0;
/// Grey levels by which a compressed picture rounds the corner where it is clipped.
constexpr double soft_clipping = 4.0;
constexpr double least_reach_px = 2.5;
constexpr double least_move_px = 0.01;
/// The arcs whose contrasts are averaged, as a share of the turn to each side: a fan of light is wider.
constexpr double contrast_reach = 1.0 / 48.0;
/// Where more of the turn than this is clipped, the edge is read on what is left of it.
constexpr double mostly_clipped = 0.6;
/// Shares of the columns that an arc must show, and of the arcs that must show a column.
constexpr double least_clear = 0.7, least_half = 0.4, few_show = 0.2;

double median(std::vector<double> values) {
  if (values.empty()) return 0.0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::ranges::nth_element(values, middle);
  return *middle;
}

/// Grey levels along the radius, averaged over one arc.
struct Arc {
  double turn_rad{};
  std::vector<double> grey;
  std::vector<bool> clipped;
  bool inside{};
  std::array<double, 2> light{};  ///< b, c
  double contrast{}, shift{};     ///< a, a d
  double smooth_contrast{};
  double misfit{};
  bool used{};
};

class Profiler {
 public:
  Profiler(const GreyLevels& picture, const RoughEdge& rough)
      : picture_(picture.height_px, picture.width_px, CV_32F, const_cast<float*>(picture.first)),
        rough_{rough},
        wave_{rough.wave},
        noise_{noise_of(picture_)} {}

  std::optional<ProfiledEdge> run() {
    below_ = above_ = std::clamp(rough_.clear_px - 3.0, least_reach_px, 6.0);
    if (!settle(2)) return std::nullopt;
    const double sigma = blur_sigma();
    // A neighbour's edge is blurred as far, and need not be round about the same centre.
    const double most = std::max(rough_.clear_px - 2.0 * sigma, least_reach_px);
    std::optional<Settled> kept;
    for (const double wide : {1.8, 2.4, 3.2}) {
      const double reach = std::clamp(wide * sigma + 0.5, least_reach_px, most);
      if (kept && reach <= kept->reach_px) break;
      set_window(reach);
      if (!settle(5)) continue;
      const Settled now{
          .reach_px = reach, .wave = wave_, .centre_sigma_px = centre_sigma(), .edge = answer()};
      if (kept && stands_off(*kept, now)) break;
      kept = now;
    }
    if (!kept) return std::nullopt;
    return kept->edge;
  }

 private:
  struct Settled {
    double reach_px{};
    Wave wave;
    double centre_sigma_px{};
    ProfiledEdge edge;
  };

  /// Whether the wider window moves the centre by more than the noise that it takes away [Hausman1978]: then something
  /// else lies in it.
  static bool stands_off(const Settled& narrow, const Settled& wide) {
    const double by = std::sqrt(std::max(narrow.centre_sigma_px * narrow.centre_sigma_px -
                                             wide.centre_sigma_px * wide.centre_sigma_px,
                                         0.0));
    const double most = 2.5 * by + least_move_px;
    return std::abs(narrow.wave.c[1] - wide.wave.c[1]) > most ||
           std::abs(narrow.wave.c[2] - wide.wave.c[2]) > most;
  }
  [[nodiscard]] double centre_sigma() const {
    double sum = 0.0;
    for (const auto& one : places()) sum += one.weight;
    return std::sqrt(2.0 / std::max(sum, 1e-12));
  }

  bool settle(int times) {
    for (int round = 0; round < times; ++round) {
      sample();
      start_profile();
      for (int turn = 0; turn < 3; ++turn)
        if (!fit_arcs() || !renew_profile()) return false;
      if (!fit_arcs()) return false;
      if (round + 1 == times) break;
      const auto moved = fit_wave(places(), 1.2);
      if (!moved) return false;
      wave_ = *moved;
    }
    return true;
  }

  /// Of a pixel, from second differences, in which anything smooth has little part.
  static double noise_of(const cv::Mat& picture) {
    std::vector<double> size;
    for (int r = 2; r + 2 < picture.rows; r += 7)
      for (int c = 2; c + 2 < picture.cols; c += 5)
        size.push_back(std::abs(static_cast<double>(picture.at<float>(r, c - 1)) -
                                2.0 * static_cast<double>(picture.at<float>(r, c)) +
                                static_cast<double>(picture.at<float>(r, c + 1))));
    return mad_to_sigma * median(std::move(size)) / std::sqrt(6.0);
  }

  [[nodiscard]] int samples() const {
    return static_cast<int>(std::lround((below_ + above_) / step_px)) + 1;
  }
  [[nodiscard]] double x_at(int k) const { return -below_ + k * step_px; }

  void sample() {
    const double radius = wave_.c[0];
    const int arcs = std::clamp(static_cast<int>(2.0 * pi * radius / 12.0), 48, 240);
    const int rays_an_arc = std::max(3, static_cast<int>(std::lround(2.0 * pi * radius / arcs)));
    const int n = samples(), rays = arcs * rays_an_arc;
    cv::Mat map_x(rays, n, CV_32F), map_y(rays, n, CV_32F), lines;
    for (int a = 0; a < rays; ++a) {
      const double t = 2.0 * pi * (a + 0.5) / rays, middle = wave_.at(t);
      for (int k = 0; k < n; ++k) {
        map_x.at<float>(a, k) =
            static_cast<float>(rough_.centre_x_px + (middle + x_at(k)) * std::cos(t));
        map_y.at<float>(a, k) =
            static_cast<float>(rough_.centre_y_px + (middle + x_at(k)) * std::sin(t));
      }
    }
    cv::remap(picture_, lines, map_x, map_y, cv::INTER_CUBIC, cv::BORDER_REPLICATE);
    arcs_.assign(static_cast<std::size_t>(arcs), {});
    const double floor = 2.5 * noise_ + soft_clipping;
    for (int s = 0; s < arcs; ++s) {
      Arc& arc = arcs_[static_cast<std::size_t>(s)];
      arc.turn_rad = 2.0 * pi * (s + 0.5) / arcs;
      arc.grey.resize(static_cast<std::size_t>(n));
      arc.clipped.resize(static_cast<std::size_t>(n));
      arc.inside = true;
      for (int k = 0; k < n; ++k) {
        double sum = 0.0;
        for (int a = s * rays_an_arc; a < (s + 1) * rays_an_arc; ++a) {
          sum += static_cast<double>(lines.at<float>(a, k));
          const double x = static_cast<double>(map_x.at<float>(a, k)),
                       y = static_cast<double>(map_y.at<float>(a, k));
          arc.inside = arc.inside && x >= 1.0 && y >= 1.0 && x <= picture_.cols - 2.0 &&
                       y <= picture_.rows - 2.0;
        }
        const double mean = sum / rays_an_arc;
        arc.grey[static_cast<std::size_t>(k)] = mean;
        arc.clipped[static_cast<std::size_t>(k)] = mean < floor || mean > most_grey - floor;
      }
    }
    judge_clipping();
  }

  /// Whether the edge is clipped nearly all round; then the arcs are read on what is left of them.
  void judge_clipping() {
    std::size_t touched = 0;
    for (const Arc& arc : arcs_) touched += std::ranges::count(arc.clipped, true) > 0 ? 1U : 0U;
    half_seen_ = static_cast<double>(touched) > mostly_clipped * static_cast<double>(arcs_.size());
  }

  /// The profile from what the arcs say of each column. A column that few show is none, and goes on flat.
  bool take_profile(const std::vector<double>& sum, const std::vector<double>& weight) {
    const double most = std::ranges::max(weight);
    if (!(most > 0.0)) return false;
    profile_.assign(sum.size(), 0.0);
    shown_.assign(sum.size(), false);
    std::size_t last = sum.size();
    for (std::size_t k = 0; k < sum.size(); ++k) {
      shown_[k] = weight[k] >= few_show * most;
      if (shown_[k]) profile_[k] = sum[k] / weight[k];
      if (!shown_[k] && last < k) profile_[k] = profile_[last];
      if (shown_[k] && last == sum.size())
        std::fill(profile_.begin(), profile_.begin() + static_cast<std::ptrdiff_t>(k), profile_[k]);
      if (shown_[k]) last = k;
    }
    scale_profile();
    return last < sum.size();
  }
  /// Whether a column and its neighbours, which its slope is of, are shown.
  [[nodiscard]] bool is_shown(int k) const {
    for (int j = std::max(k - 1, 0); j <= std::min(k + 1, samples() - 1); ++j)
      if (!shown_[static_cast<std::size_t>(j)]) return false;
    return true;
  }

  /// The first profile: the arcs' mean, each by its own slope at the ring.
  void start_profile() {
    const int n = samples();
    for (Arc& arc : arcs_) {
      arc.smooth_contrast = 0.0;
      for (int k = 0; k < n; ++k) {
        const double u = x_at(k) / 1.6;
        arc.smooth_contrast += u * std::exp(-0.5 * u * u) * arc.grey[static_cast<std::size_t>(k)];
      }
      arc.used = arc.inside;
      arc.contrast = arc.smooth_contrast;
      arc.shift = 0.0;
    }
    smooth_contrasts();
    std::vector<double> mean(static_cast<std::size_t>(n)), weight(static_cast<std::size_t>(n));
    for (const Arc& arc : arcs_) {
      if (!arc.used) continue;
      double level = 0.0;
      for (const double one : arc.grey) level += one / n;
      for (std::size_t k = 0; k < arc.grey.size(); ++k)
        if (!arc.clipped[k]) {
          mean[k] += arc.smooth_contrast * (arc.grey[k] - level);
          weight[k] += arc.smooth_contrast * arc.smooth_contrast;
        }
    }
    static_cast<void>(take_profile(mean, weight));
  }

  void scale_profile() {
    const auto [low, high] = std::ranges::minmax(profile_);
    const double range = high - low;
    if (!(range > 0.0)) return;
    for (double& one : profile_) one = (one - low) / range;
  }
  [[nodiscard]] double slope_at(int k) const {
    const int n = samples();
    const int before = std::max(k - 1, 0), after = std::min(k + 1, n - 1);
    return (profile_[static_cast<std::size_t>(after)] -
            profile_[static_cast<std::size_t>(before)]) /
           ((after - before) * step_px);
  }

  /// The standard deviation of a Gaussian with the flank's width at half its height.
  [[nodiscard]] double blur_sigma() const {
    const int n = samples();
    int peak = n / 2;
    for (int k = 1; k + 1 < n; ++k)
      if (std::abs(x_at(k)) <= 1.6 && std::abs(slope_at(k)) > std::abs(slope_at(peak))) peak = k;
    const double half = 0.5 * std::abs(slope_at(peak));
    int left = peak, right = peak;
    while (left > 0 && std::abs(slope_at(left)) > half) --left;
    while (right + 1 < n && std::abs(slope_at(right)) > half) ++right;
    return 0.5 * (right - left) * step_px / half_height_to_sigma;
  }

  /// To both sides, and over the line where it is one.
  void set_window(double reach_px) {
    below_ = above_ = std::ceil(reach_px / step_px) * step_px;
    const double line = std::abs(rough_.other_flank_px);
    (rough_.other_flank_px > 0.0 ? above_ : below_) += std::ceil(line / step_px) * step_px;
  }

  bool fit_arcs() {
    const int n = samples();
    std::size_t count = 0;
    std::vector<double> misfits;
    for (Arc& arc : arcs_) {
      arc.used = false;
      if (!arc.inside) continue;
      cv::Matx44d normal = cv::Matx44d::zeros();
      cv::Vec4d right = cv::Vec4d::all(0.0);
      int clear = 0;
      for (int k = 0; k < n; ++k) {
        if (arc.clipped[static_cast<std::size_t>(k)] || !is_shown(k)) continue;
        ++clear;
        const cv::Vec4d row{1.0, x_at(k), profile_[static_cast<std::size_t>(k)], -slope_at(k)};
        right += row * arc.grey[static_cast<std::size_t>(k)];
        normal += row * row.t();
      }
      if (clear < (half_seen_ ? least_half : least_clear) * n) continue;
      // Half a profile cannot tell a slope of light from its own flank.
      if (clear < least_clear * n) normal(1, 1) += 1e12;
      const cv::Vec4d at = normal.solve(right, cv::DECOMP_SVD);
      double sum = 0.0;
      for (int k = 0; k < n; ++k) {
        if (arc.clipped[static_cast<std::size_t>(k)] || !is_shown(k)) continue;
        const double off = arc.grey[static_cast<std::size_t>(k)] - at[0] - at[1] * x_at(k) -
                           at[2] * profile_[static_cast<std::size_t>(k)] + at[3] * slope_at(k);
        sum += off * off;
      }
      arc.light = {at[0], at[1]};
      arc.contrast = at[2];
      arc.shift = at[3];
      arc.misfit = std::sqrt(sum / clear);
      arc.used = true;
      misfits.push_back(arc.misfit);
      ++count;
    }
    if (count < 20) return false;
    const double usual = median(misfits);
    for (Arc& arc : arcs_) arc.used = arc.used && arc.misfit <= 4.0 * usual + 1e-9;
    smooth_contrasts();
    return true;
  }

  void smooth_contrasts() {
    const int arcs = static_cast<int>(arcs_.size());
    const int reach = std::max(1, static_cast<int>(contrast_reach * arcs));
    std::vector<double> smooth(arcs_.size(), 0.0);
    for (int s = 0; s < arcs; ++s) {
      double sum = 0.0, weight = 0.0;
      for (int j = -reach; j <= reach; ++j) {
        const Arc& one = arcs_[static_cast<std::size_t>((s + j + arcs) % arcs)];
        if (!one.used) continue;
        const double share = 1.0 - std::abs(j) / (reach + 1.0);
        sum += share * one.contrast;
        weight += share;
      }
      smooth[static_cast<std::size_t>(s)] = weight > 0.0 ? sum / weight : 0.0;
    }
    for (std::size_t s = 0; s < arcs_.size(); ++s) arcs_[s].smooth_contrast = smooth[s];
  }

  bool renew_profile() {
    const int n = samples();
    std::vector<double> sum(profile_.size(), 0.0), weight(profile_.size(), 0.0);
    for (const Arc& arc : arcs_) {
      if (!arc.used) continue;
      for (int k = 0; k < n; ++k) {
        if (arc.clipped[static_cast<std::size_t>(k)]) continue;
        const double seen = arc.grey[static_cast<std::size_t>(k)] - arc.light[0] -
                            arc.light[1] * x_at(k) + arc.shift * slope_at(k);
        sum[static_cast<std::size_t>(k)] += arc.smooth_contrast * seen;
        weight[static_cast<std::size_t>(k)] += arc.smooth_contrast * arc.smooth_contrast;
      }
    }
    return take_profile(sum, weight);
  }

  /// Scatter of y round the turn, in grey levels.
  [[nodiscard]] double shift_sigma() const {
    std::vector<double> size;
    for (const Arc& arc : arcs_)
      if (arc.used) size.push_back(std::abs(arc.shift));
    return std::max(mad_to_sigma * median(std::move(size)), 1e-6);
  }
  [[nodiscard]] double sigma_of(const Arc& arc, double shift_sigma) const {
    return std::hypot(shift_sigma / std::max(std::abs(arc.smooth_contrast), 1e-9), own_scatter_px);
  }

  [[nodiscard]] std::vector<WavePlace> places() const {
    std::vector<WavePlace> all;
    const double noise = shift_sigma();
    for (const Arc& arc : arcs_) {
      if (!arc.used) continue;
      const double sigma = sigma_of(arc, noise);
      if (sigma > 2.0) continue;
      const double off = std::clamp(arc.shift / arc.smooth_contrast, -1.0, 1.0);
      all.push_back({arc.turn_rad, wave_.at(arc.turn_rad) + off, 1.0 / (sigma * sigma)});
    }
    return all;
  }

  [[nodiscard]] ProfiledEdge answer() const {
    ProfiledEdge edge;
    const double noise = shift_sigma();
    double on = 0.0;
    for (const Arc& arc : arcs_) {
      if (!arc.used) continue;
      const double sigma = sigma_of(arc, noise);
      if (sigma > 2.0) continue;
      const double off = arc.shift / arc.smooth_contrast;
      if (std::abs(off) > 2.0) continue;
      edge.places.push_back({arc.turn_rad, wave_.at(arc.turn_rad) + off, sigma});
      on += sigma <= 1.0 && std::abs(off) <= 3.5 * sigma + 0.3 ? 1.0 : 0.0;
    }
    edge.share = on / static_cast<double>(arcs_.size());
    return edge;
  }

  const cv::Mat picture_;
  const RoughEdge& rough_;
  Wave wave_;
  double noise_{};
  double below_{}, above_{};
  std::vector<Arc> arcs_;
  std::vector<double> profile_;
  std::vector<bool> shown_;  ///< a column of it
  bool half_seen_{};
};

}  // namespace

std::optional<ProfiledEdge> place_by_profile(const GreyLevels& picture, const RoughEdge& rough) {
  return Profiler{picture, rough}.run();
}

}  // namespace goodside::intake
