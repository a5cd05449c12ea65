#include "intake/circle_edges.hpp"

#include <fmt/format.h>
#include <zlib.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <numbers>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "intake/edge_profile.hpp"
#include "intake/picture_codec.hpp"
#include "intake/ring_wave.hpp"
#include "intake/safe_file.hpp"

namespace goodside::intake {
namespace {

using works::EdgePoint;

constexpr double pi = std::numbers::pi;
constexpr std::size_t largest_photograph_bytes = std::size_t{256} << 20;
constexpr int least_side_px = 200, most_side_px = 12'000;
constexpr std::int64_t most_pixels = 64'000'000;
constexpr int small_side_px = 640;
constexpr int unrolled_rows = 360;
constexpr int rings_a_polarity = 14;
constexpr double least_ring_share = 0.5;
constexpr std::size_t most_candidates = 8;
constexpr double clear_share = 0.8;
constexpr double hole_tolerance = 0.025, groove_tolerance = 0.012;
constexpr double least_hole_radius_px = 8.0;
constexpr double edge_sigma_px = 1.4;
/// What lies free to each side of a hole's edge or a groove circle: label, print and rim are farther off.
constexpr double clear_m = 2.2e-3, least_clear_px = 3.5, most_clear_px = 20.0;
constexpr double widest_line_px = 8.0;

struct Size {
  std::int64_t width{}, height{};
};

std::uint32_t big_endian(const std::string& bytes, std::size_t at, std::size_t count) {
  std::uint32_t value = 0;
  for (std::size_t i = 0; i < count; ++i)
    value = (value << 8) | static_cast<unsigned char>(bytes[at + i]);
  return value;
}

/// Width and height as the file's head states them, before anything is decoded.
std::optional<Size> stated_size(const std::string& bytes) {
  constexpr std::size_t png_head = 24;
  if (bytes.size() >= png_head && bytes.compare(0, 8, "\x89PNG\r\n\x1a\n") == 0)
    return Size{big_endian(bytes, 16, 4), big_endian(bytes, 20, 4)};
  if (bytes.size() < 4 || bytes.compare(0, 2, "\xff\xd8") != 0) return std::nullopt;
  for (std::size_t at = 2; at + 9 < bytes.size();) {
    if (static_cast<unsigned char>(bytes[at]) != 0xff) return std::nullopt;
    const auto marker = static_cast<unsigned char>(bytes[at + 1]);
    if (marker == 0xff) {
      ++at;
      continue;
    }
    const bool frame =
        marker >= 0xc0 && marker <= 0xcf && marker != 0xc4 && marker != 0xc8 && marker != 0xcc;
    if (frame) return Size{big_endian(bytes, at + 7, 2), big_endian(bytes, at + 5, 2)};
    at += 2 + big_endian(bytes, at + 2, 2);
  }
  return std::nullopt;
}

/// Whether all that a file begins is ended in it. The decoders would tell of it on standard error themselves.
bool is_whole(const std::string& bytes) {
  constexpr std::size_t around_data = 12;  // length, kind, checksum
  if (bytes.compare(0, 2, "\xff\xd8") == 0) return bytes.rfind("\xff\xd9") != std::string::npos;
  for (std::size_t at = 8; at + around_data <= bytes.size();) {
    const std::size_t length = big_endian(bytes, at, 4);
    if (length > bytes.size() - at - around_data) return false;
    const auto* data = reinterpret_cast<const unsigned char*>(bytes.data()) + at + 4;
    if (crc32(0L, data, static_cast<unsigned>(length + 4)) != big_endian(bytes, at + 8 + length, 4))
      return false;
    if (bytes.compare(at + 4, 4, "IEND") == 0) return true;
    at += around_data + length;
  }
  return false;
}

Result<cv::Mat> decode(const std::string& bytes, const std::string& name) {
  const auto stated = stated_size(bytes);
  if (!stated) return Error{Fault::bad_input, name + ": no PNG or JPEG picture; save it as one"};
  if (std::min(stated->width, stated->height) < least_side_px)
    return Error{Fault::bad_input,
                 fmt::format("{}: {} x {} pixels are too few to measure by; {} a side at least",
                             name,
                             stated->width,
                             stated->height,
                             least_side_px)};
  if (std::max(stated->width, stated->height) > most_side_px ||
      stated->width * stated->height > most_pixels)
    return Error{
        Fault::bad_input,
        fmt::format(
            "{}: {} x {} pixels; at most {} a side and 64 megapixels are taken, so make it smaller",
            name,
            stated->width,
            stated->height,
            most_side_px)};
  if (!is_whole(bytes))
    return Error{Fault::bad_input, name + ": the picture is cut short or broken; save it again"};
  auto picture = decoded_grey(bytes);
  if (!picture) return picture.error();
  if (picture->empty())
    return Error{Fault::bad_input,
                 name + ": the picture is broken and cannot be read; save it again"};
  return picture;
}

// ---- where the round things are centred

cv::Point2d rough_centre(const cv::Mat& picture) {
  const double scale =
      std::min(1.0, static_cast<double>(small_side_px) / std::max(picture.cols, picture.rows));
  cv::Mat small, x, y;
  cv::resize(picture, small, {}, scale, scale, cv::INTER_AREA);
  small.convertTo(small, CV_32F);
  cv::GaussianBlur(small, small, {}, 1.2);
  cv::Scharr(small, x, CV_32F, 1, 0);
  cv::Scharr(small, y, CV_32F, 0, 1);
  cv::Mat size;
  cv::magnitude(x, y, size);
  // The strongest sixth of the pixels votes, each alike.
  std::vector<float> all(size.begin<float>(), size.end<float>());
  const auto cut = all.begin() + static_cast<std::ptrdiff_t>(all.size() * 5 / 6);
  std::ranges::nth_element(all, cut);
  const float least = std::max(*cut, 1.0F);
  cv::Mat votes = cv::Mat::zeros(small.size(), CV_32F);
  for (int r = 1; r + 1 < small.rows; ++r)
    for (int c = 1; c + 1 < small.cols; ++c) {
      const float g = size.at<float>(r, c);
      if (g < least) continue;
      const float dx = x.at<float>(r, c) / g, dy = y.at<float>(r, c) / g;
      const bool flat = std::abs(dx) > std::abs(dy);
      const int steps = flat ? small.cols : small.rows;
      for (int k = 0; k < steps; ++k) {
        const double across = flat
                                  ? r + (k - c) * static_cast<double>(dy) / static_cast<double>(dx)
                                  : c + (k - r) * static_cast<double>(dx) / static_cast<double>(dy);
        const int other = static_cast<int>(std::lround(across));
        if (other < 0 || other >= (flat ? small.rows : small.cols)) continue;
        (flat ? votes.at<float>(other, k) : votes.at<float>(k, other)) += 1.0F;
      }
    }
  cv::GaussianBlur(votes, votes, {}, 1.5);
  cv::Point best;
  cv::minMaxLoc(votes, nullptr, nullptr, nullptr, &best);
  return {(best.x + 0.5) / scale - 0.5, (best.y + 0.5) / scale - 0.5};
}

// ---- rings in the unrolled picture

struct Ring {
  Wave wave;
  int polarity{};
  double share{};      ///< of the turn with a clear edge on the wave
  cv::Point2d centre;  ///< unrolled about
  [[nodiscard]] double radius() const { return wave.c[0]; }
  [[nodiscard]] cv::Point2d own_centre() const {
    return {centre.x + wave.c[1], centre.y + wave.c[2]};
  }
};

class Unrolled {
 public:
  Unrolled(const cv::Mat& picture, cv::Point2d centre) : centre_{centre} {
    const double far = std::max({std::hypot(centre.x, centre.y),
                                 std::hypot(picture.cols - centre.x, centre.y),
                                 std::hypot(centre.x, picture.rows - centre.y),
                                 std::hypot(picture.cols - centre.x, picture.rows - centre.y)});
    const int columns = static_cast<int>(std::min(far, 0.8 * std::max(picture.cols, picture.rows)));
    cv::Mat map_x(unrolled_rows, columns, CV_32F), map_y(unrolled_rows, columns, CV_32F);
    inside_ = cv::Mat::zeros(unrolled_rows, columns, CV_8U);
    for (int a = 0; a < unrolled_rows; ++a) {
      const double t = 2.0 * pi * a / unrolled_rows;
      for (int r = 0; r < columns; ++r) {
        const double x = centre.x + r * std::cos(t), y = centre.y + r * std::sin(t);
        map_x.at<float>(a, r) = static_cast<float>(x);
        map_y.at<float>(a, r) = static_cast<float>(y);
        const bool in = x > 4.0 && y > 4.0 && x < picture.cols - 5.0 && y < picture.rows - 5.0;
        inside_.at<std::uint8_t>(a, r) = in ? 1 : 0;
      }
    }
    cv::Mat blurred, polar;
    cv::GaussianBlur(picture, blurred, {}, 1.0);
    cv::remap(blurred, polar, map_x, map_y, cv::INTER_LINEAR, cv::BORDER_REPLICATE);
    polar.convertTo(polar, CV_32F);
    // Along the radius a derivative of a Gaussian, round the turn a light smoothing.
    constexpr int half = 5;
    cv::Mat along(1, 2 * half + 1, CV_32F);
    double norm = 0.0;
    for (int k = -half; k <= half; ++k) norm += k * k * std::exp(-0.5 * k * k / (1.6 * 1.6));
    for (int k = -half; k <= half; ++k)
      along.at<float>(0, k + half) =
          static_cast<float>(k * std::exp(-0.5 * k * k / (1.6 * 1.6)) / norm);
    cv::Mat round = cv::getGaussianKernel(5, 1.0, CV_32F);
    cv::sepFilter2D(polar, slope_, CV_32F, along, round, {-1, -1}, 0.0, cv::BORDER_REPLICATE);
    std::vector<float> size;
    for (int a = 0; a < unrolled_rows; a += 2)
      for (int r = 4; r < columns; r += 2)
        if (inside_.at<std::uint8_t>(a, r) != 0) size.push_back(std::abs(slope_.at<float>(a, r)));
    if (!size.empty()) {
      const auto middle = size.begin() + static_cast<std::ptrdiff_t>(size.size() / 2);
      std::ranges::nth_element(size, middle);
      quiet_ = std::max(2.5F * *middle, 0.4F);
    }
  }

  /// The clearest rings of one polarity with radii in the range, at most `most`.
  [[nodiscard]] std::vector<Ring> rings(int polarity,
                                        double least_px = 4.0,
                                        double most_px = 1e9,
                                        int most = rings_a_polarity) const {
    cv::Mat worth = cv::Mat::zeros(slope_.size(), CV_32F);
    for (int a = 0; a < unrolled_rows; ++a)
      for (int r = 0; r < slope_.cols; ++r) {
        const float g = static_cast<float>(polarity) * slope_.at<float>(a, r);
        if (g > 0.0F && inside_.at<std::uint8_t>(a, r) != 0 && r > least_px && r < most_px)
          worth.at<float>(a, r) = g / (g + quiet_);
      }
    std::vector<Ring> found;
    for (int k = 0; k < most; ++k) {
      const std::vector<int> path = best_path(worth);
      // Worth is flat on top of a strong edge: the edge itself lies where the slope is steepest.
      std::vector<WavePlace> places;
      for (int a = 0; a < unrolled_rows; ++a) {
        int steepest = path[static_cast<std::size_t>(a)];
        for (int r = steepest - 3; r <= path[static_cast<std::size_t>(a)] + 3; ++r)
          if (r >= 0 && r < worth.cols && worth.at<float>(a, r) > worth.at<float>(a, steepest))
            steepest = r;
        if (worth.at<float>(a, steepest) > 0.3F)
          places.push_back({2.0 * pi * a / unrolled_rows, static_cast<double>(steepest)});
      }
      const auto wave = fit_wave(places, 1.5);
      if (wave) {
        Ring ring{.wave = *wave, .polarity = polarity, .centre = centre_};
        double on = 0.0;
        for (const auto& one : places)
          on += std::abs(one.radius_px - wave->at(one.turn_rad)) <= 1.6 ? 1.0 : 0.0;
        ring.share = on / unrolled_rows;
        if (ring.share >= least_ring_share && ring.radius() >= least_hole_radius_px)
          found.push_back(ring);
      }
      for (int a = 0; a < unrolled_rows; ++a)
        for (int r = path[static_cast<std::size_t>(a)] - 3;
             r <= path[static_cast<std::size_t>(a)] + 3;
             ++r)
          if (r >= 0 && r < worth.cols) worth.at<float>(a, r) = 0.0F;
    }
    return found;
  }

 private:
  /// The closed path of greatest worth, a step of one pixel at most from row to row: gone round twice, the second round
  /// knows where the first ended.
  [[nodiscard]] std::vector<int> best_path(const cv::Mat& worth) const {
    const int columns = worth.cols;
    constexpr float sideways = 0.4F;
    std::vector<float> now(static_cast<std::size_t>(columns), 0.0F), next(now.size());
    std::vector<std::int8_t> from(static_cast<std::size_t>(2 * unrolled_rows) * now.size());
    for (int step = 0; step < 2 * unrolled_rows; ++step) {
      const float* row = worth.ptr<float>(step % unrolled_rows);
      for (int r = 0; r < columns; ++r) {
        float best = now[static_cast<std::size_t>(r)];
        std::int8_t side = 0;
        if (r > 0 && now[static_cast<std::size_t>(r - 1)] - sideways > best)
          best = now[static_cast<std::size_t>(r - 1)] - sideways, side = -1;
        if (r + 1 < columns && now[static_cast<std::size_t>(r + 1)] - sideways > best)
          best = now[static_cast<std::size_t>(r + 1)] - sideways, side = 1;
        next[static_cast<std::size_t>(r)] = best + row[r];
        from[static_cast<std::size_t>(step) * now.size() + static_cast<std::size_t>(r)] = side;
      }
      now.swap(next);
    }
    std::vector<int> path(static_cast<std::size_t>(unrolled_rows));
    int r = static_cast<int>(std::ranges::max_element(now) - now.begin());
    for (int step = 2 * unrolled_rows - 1; step >= unrolled_rows; --step) {
      path[static_cast<std::size_t>(step - unrolled_rows)] = r;
      r += from[static_cast<std::size_t>(step) * now.size() + static_cast<std::size_t>(r)];
    }
    return path;
  }

  cv::Point2d centre_;
  cv::Mat slope_, inside_;
  float quiet_{0.4F};
};

std::vector<Ring> rings_about(const cv::Mat& picture, cv::Point2d centre) {
  const Unrolled unrolled{picture, centre};
  std::vector<Ring> all = unrolled.rings(1);
  for (const Ring& one : unrolled.rings(-1)) all.push_back(one);
  std::ranges::stable_sort(all, std::greater{}, &Ring::share);
  return all;
}

// ---- which ring is what

struct Chosen {
  Ring hole;
  std::vector<Ring> grooves;
  double score{-1.0};
  double to_middle_px{};  ///< of the first groove
};

double closeness(double radius, double expected, double tolerance) {
  return std::abs(radius / expected - 1.0) / tolerance;
}

/// The rings whose radii stand as the diameters do: hole and first groove among all rings, the further grooves against
/// the first, which is large and so tells their radii closer. A wrong scale has to miss somewhere, so nearness counts
/// little and clear edges count most.
std::vector<Chosen> candidates(const std::vector<Ring>& rings, const CirclesWanted& wanted) {
  std::vector<Chosen> all;
  const auto& diameters = wanted.groove_diameters_m;
  for (const Ring& hole : rings)
    for (const Ring& first : rings) {
      // A small hole's radius is known to a pixel of its own.
      const double off = closeness(first.radius(),
                                   hole.radius() * diameters.front() / wanted.hole_diameter_m,
                                   hole_tolerance + 0.7 / hole.radius());
      if (off > 1.0) continue;
      Chosen now{.hole = hole, .grooves = {first}, .score = hole.share + first.share - 0.4 * off};
      for (std::size_t j = 1; j < diameters.size(); ++j) {
        const double radius = first.radius() * diameters[j] / diameters.front();
        double score = 0.0;
        for (const Ring& ring : rings) {
          const double away = closeness(ring.radius(), radius, 1.5 * groove_tolerance);
          if (away <= 1.0) score = std::max(score, ring.share - 0.3 * away);
        }
        now.score += score;
      }
      all.push_back(now);
    }
  std::ranges::stable_sort(all, std::greater{}, &Chosen::score);
  if (all.size() > most_candidates) all.resize(most_candidates);
  return all;
}

/// A line has two flanks: the middle of both, where the other one is found near; else the one.
double middle_radius(const Unrolled& unrolled, const Ring& ring) {
  constexpr double widest_line = 0.045;
  const double room = std::max(widest_line * ring.radius(), 4.0);
  std::optional<double> other;
  for (const Ring& one :
       unrolled.rings(-ring.polarity, ring.radius() - room, ring.radius() + room, 2))
    if (!other || std::abs(one.radius() - ring.radius()) < std::abs(*other - ring.radius()))
      other = one.radius();
  return other ? 0.5 * (ring.radius() + *other) : ring.radius();
}

/// The further grooves once more, now from the first one's own centre and each near its own radius alone, where a faint
/// edge need not be stronger than all others of the picture. One at the border of where it may be is another's.
bool look_again(const cv::Mat& picture, const CirclesWanted& wanted, Chosen& chosen) {
  const Ring first = chosen.grooves.front();
  const Unrolled unrolled{picture, first.own_centre()};
  const double first_radius = middle_radius(unrolled, first);
  chosen.to_middle_px = first_radius - first.radius();
  chosen.grooves.resize(1);
  for (std::size_t j = 1; j < wanted.groove_diameters_m.size(); ++j) {
    const double radius =
        first_radius * wanted.groove_diameters_m[j] / wanted.groove_diameters_m.front();
    const double room = std::max(groove_tolerance * radius, 4.0);
    std::optional<Ring> best;
    double best_score = -1.0;
    for (const int polarity : {1, -1})
      for (const Ring& ring : unrolled.rings(polarity, radius - room, radius + room, 3)) {
        const double off = std::abs(ring.radius() - radius);
        const double score = ring.share - 0.2 * off / room;
        if (off < room - 2.5 && score > best_score) best_score = score, best = ring;
      }
    if (!best) return false;
    chosen.grooves.push_back(*best);
  }
  return true;
}

// ---- edges to a fraction of a pixel

class EdgeReader {
 public:
  EdgeReader(const cv::Mat& picture) { picture.convertTo(picture_, CV_32F); }

  /// Edges of one polarity near the ring, re-centred and gone over again until it stands still.
  works::CircleEdge read(const Ring& ring,
                         std::string name,
                         double diameter_m,
                         double other_flank_px = 0.0) const {
    works::CircleEdge edge{.name = std::move(name), .diameter_m = diameter_m, .points = {}};
    Ring now = ring;
    for (int round = 0; round < 3; ++round) {
      const bool last = round == 2;
      const cv::Point2d own = now.own_centre();
      Wave about = now.wave;
      about.c[1] = about.c[2] = 0.0;
      const auto places = along_rays(own, about, ring.polarity, 2.5);
      const auto wave = fit_wave(places.first, last ? 0.8 : 1.2);
      if (!wave) break;
      now.centre = own;
      now.wave = *wave;
      if (!last) continue;
      double on = 0.0;
      for (const auto& one : places.first) {
        on += std::abs(one.radius_px - wave->at(one.turn_rad)) <= 0.8 ? 1.0 : 0.0;
      }
      edge.share = on / static_cast<double>(places.second);
      place(edge, now, other_flank_px);
    }
    return edge;
  }

 private:
  /// From rays to the mean profile; an edge that it cannot hold has no points.
  void place(works::CircleEdge& edge, const Ring& ring, double other_flank_px) const {
    const double px_per_m = 2.0 * ring.radius() / edge.diameter_m;
    const auto placed =
        place_by_profile({picture_.ptr<float>(), picture_.cols, picture_.rows},
                         {.centre_x_px = ring.centre.x,
                          .centre_y_px = ring.centre.y,
                          .wave = ring.wave,
                          .clear_px = std::clamp(clear_m * px_per_m, least_clear_px, most_clear_px),
                          .other_flank_px = other_flank_px});
    if (!placed) return;
    edge.share = placed->share;
    for (const auto& one : placed->places)
      edge.points.push_back({.x_px = ring.centre.x + one.radius_px * std::cos(one.turn_rad),
                             .y_px = ring.centre.y + one.radius_px * std::sin(one.turn_rad),
                             .sigma_px = one.sigma_px});
  }

  [[nodiscard]] std::pair<std::vector<WavePlace>, int> along_rays(cv::Point2d centre,
                                                                  const Wave& wave,
                                                                  int polarity,
                                                                  double reach_px) const {
    constexpr double step_px = 0.25;
    const double radius_px = wave.c[0];
    const int rays = std::clamp(static_cast<int>(2.0 * pi * radius_px), 180, 2880);
    const double margin = reach_px + 4.0 * edge_sigma_px;
    const int samples = 2 * static_cast<int>(margin / step_px) + 1;
    // Smoothed along the edge, by a length that is straight beside the radius; the turn is closed by rays of overlap.
    const double along_px = std::clamp(0.03 * radius_px, 0.6, 4.0);
    const double along_rays = along_px * rays / (2.0 * pi * radius_px);
    const int overlap = static_cast<int>(std::ceil(3.0 * along_rays));
    cv::Mat map_x(rays + 2 * overlap, samples, CV_32F), map_y(rays + 2 * overlap, samples, CV_32F),
        lines;
    for (int a = 0; a < rays + 2 * overlap; ++a) {
      const double t = 2.0 * pi * (a - overlap) / rays, middle = wave.at(t);
      for (int k = 0; k < samples; ++k) {
        const double radius = middle + (k - samples / 2) * step_px;
        map_x.at<float>(a, k) = static_cast<float>(centre.x + radius * std::cos(t));
        map_y.at<float>(a, k) = static_cast<float>(centre.y + radius * std::sin(t));
      }
    }
    cv::remap(picture_, lines, map_x, map_y, cv::INTER_CUBIC, cv::BORDER_REPLICATE);
    const int half = static_cast<int>(std::lround(4.0 * edge_sigma_px / step_px));
    cv::Mat kernel(1, 2 * half + 1, CV_32F);
    for (int k = -half; k <= half; ++k) {
      const double u = k * step_px / edge_sigma_px;
      kernel.at<float>(0, k + half) = static_cast<float>(polarity * u * std::exp(-0.5 * u * u));
    }
    cv::Mat slope;
    const cv::Mat round = cv::getGaussianKernel(2 * overlap + 1, along_rays, CV_32F);
    cv::sepFilter2D(lines, slope, CV_32F, kernel, round, {-1, -1}, 0.0, cv::BORDER_REPLICATE);
    // A peak near the ring is believed before a stronger one of its neighbour.
    std::vector<float> near(static_cast<std::size_t>(samples));
    for (int k = 0; k < samples; ++k) {
      const double away = (k - samples / 2) * step_px / (0.5 * reach_px);
      near[static_cast<std::size_t>(k)] = static_cast<float>(std::exp(-0.5 * away * away));
    }
    std::vector<WavePlace> places;
    std::vector<float> peaks;
    const int window = static_cast<int>(reach_px / step_px);
    for (int a = 0; a < rays; ++a) {
      const float* row = slope.ptr<float>(a + overlap);
      int best = -1;
      for (int k = samples / 2 - window; k <= samples / 2 + window; ++k)
        if (k > 0 && k + 1 < samples && row[k] > row[k - 1] && row[k] >= row[k + 1] &&
            row[k] > 0.0F &&
            (best < 0 || row[k] * near[static_cast<std::size_t>(k)] >
                             row[best] * near[static_cast<std::size_t>(best)]))
          best = k;
      if (best < 0) continue;
      const double t = 2.0 * pi * a / rays;
      const double bend = static_cast<double>(row[best - 1]) -
                          2.0 * static_cast<double>(row[best]) + static_cast<double>(row[best + 1]);
      const double shift =
          bend < 0.0
              ? 0.5 * (static_cast<double>(row[best - 1]) - static_cast<double>(row[best + 1])) /
                    bend
              : 0.0;
      const double radius = wave.at(t) + (best - samples / 2 + shift) * step_px;
      const double x = centre.x + radius * std::cos(t), y = centre.y + radius * std::sin(t);
      if (x < margin || y < margin || x > picture_.cols - 1 - margin ||
          y > picture_.rows - 1 - margin)
        continue;
      places.push_back({t, radius});
      peaks.push_back(row[best]);
    }
    if (peaks.empty()) return {places, rays};
    std::vector<float> sorted = peaks;
    const auto middle = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2);
    std::ranges::nth_element(sorted, middle);
    const float least = 0.25F * *middle;
    std::size_t kept = 0;
    for (std::size_t i = 0; i < places.size(); ++i)
      if (peaks[i] >= least) places[kept++] = places[i];
    places.resize(kept);
    return {places, rays};
  }

  cv::Mat picture_;
};

/// From the first groove's flank to the other one, where both lie near enough for one line.
double line_of(const Chosen& chosen) {
  const double width = 2.0 * chosen.to_middle_px;
  return std::abs(width) <= widest_line_px ? width : 0.0;
}

works::PhotographEdges read_all(const EdgeReader& reader,
                                const Chosen& chosen,
                                const CirclesWanted& wanted) {
  works::PhotographEdges edges{.picture = {},
                               .hole = reader.read(chosen.hole, "hole", wanted.hole_diameter_m),
                               .grooves = {}};
  for (std::size_t j = 0; j < chosen.grooves.size(); ++j)
    edges.grooves.push_back(reader.read(
        chosen.grooves[j], "groove", wanted.groove_diameters_m[j], j == 0 ? line_of(chosen) : 0.0));
  edges.grooves.front().to_middle_px = chosen.to_middle_px;
  return edges;
}

double least_share_of(const works::PhotographEdges& edges) {
  double least = edges.hole.share;
  for (const auto& one : edges.grooves) least = std::min(least, one.share);
  return least;
}

Error nothing(const std::string& name, const CirclesWanted& wanted, std::size_t rings) {
  std::string grooves;
  for (const double one : wanted.groove_diameters_m)
    grooves += fmt::format("{}{:.4g}", grooves.empty() ? "" : " and ", one * 1e3);
  return {Fault::bad_input,
          fmt::format("{}: no hole of {:.4g} mm with groove circles of {} mm round it is seen ({} "
                      "ring{} found); "
                      "photograph the whole plate, sharp and evenly lit, or mend the diameters",
                      name,
                      wanted.hole_diameter_m * 1e3,
                      grooves,
                      rings,
                      rings == 1 ? "" : "s")};
}

/// The edges of the likeliest hole and grooves that show clearest all round; none where no rings stand as asked for.
std::optional<works::PhotographEdges> read_clearest(const cv::Mat& picture,
                                                    const EdgeReader& reader,
                                                    const std::vector<Ring>& rings,
                                                    const CirclesWanted& wanted) {
  auto likely = candidates(rings, wanted);
  if (!rings.empty()) {
    // Again from the clearest circle's own centre, or the groove's: a hole far off the rough one wobbles less.
    const Ring& about = likely.empty() ? rings.front() : likely.front().grooves.front();
    const auto again = rings_about(picture, about.own_centre());
    for (auto& one : candidates(again, wanted)) likely.push_back(std::move(one));
    std::ranges::stable_sort(likely, std::greater{}, &Chosen::score);
    if (likely.size() > most_candidates) likely.resize(most_candidates);
  }
  std::optional<works::PhotographEdges> best;
  double best_share = -1.0;
  for (Chosen& one : likely) {
    if (!look_again(picture, wanted, one)) continue;
    auto edges = read_all(reader, one, wanted);
    const double share = least_share_of(edges);
    if (share > best_share) best_share = share, best = std::move(edges);
    if (best_share >= clear_share) break;
  }
  return best;
}

}  // namespace

Result<works::PhotographEdges> circle_edges_of(const std::string& bytes,
                                               const std::string& shown_name,
                                               const CirclesWanted& wanted) {
  const auto decoded = decode(bytes, shown_name);
  if (!decoded) return decoded.error();
  const cv::Mat& picture = *decoded;
  try {
    const auto rings = rings_about(picture, rough_centre(picture));
    const EdgeReader reader{picture};
    auto best = read_clearest(picture, reader, rings, wanted);
    if (!best || least_share_of(*best) < clear_share) {
      // A first groove that is faint beside all the rest is found from the last one, which is large and clear.
      CirclesWanted other_way = wanted;
      std::ranges::reverse(other_way.groove_diameters_m);
      auto other = read_clearest(picture, reader, rings, other_way);
      if (other && (!best || least_share_of(*other) > least_share_of(*best)))
        best = std::move(other);
    }
    if (!best) return nothing(shown_name, wanted, rings.size());
    best->picture = {.width_px = picture.cols, .height_px = picture.rows, .grey = {}};
    best->picture.grey.assign(picture.begin<std::uint8_t>(), picture.end<std::uint8_t>());
    return std::move(*best);
  } catch (const cv::Exception& error) {
    return Error{Fault::bad_input,
                 fmt::format("{}: the picture cannot be worked on ({})", shown_name, error.err)};
  }
}

Result<works::PhotographEdges> find_circle_edges(const std::string& path,
                                                 const CirclesWanted& wanted) {
  const auto bytes = read_whole(path, largest_photograph_bytes);
  if (!bytes) return bytes.error();
  return circle_edges_of(*bytes, path, wanted);
}

}  // namespace goodside::intake
