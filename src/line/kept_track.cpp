#include "line/kept_track.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstring>
#include <limits>
#include <optional>
#include <span>

#include "intake/compressed_file.hpp"

namespace goodside::line {
namespace {

static_assert(std::endian::native == std::endian::little, "the file's numbers are little-endian");

constexpr std::string_view mark = "goodside.kept/1\n";
constexpr std::size_t largest_bytes = std::size_t{64} << 20;
constexpr std::size_t most_stretches = 10'000, most_points = 4'000'000, longest_text = 8'192;
constexpr std::size_t radius_points = 257;

class Out {
 public:
  template <class T>
  void number(T value) {
    char bytes[sizeof(T)];
    std::memcpy(bytes, &value, sizeof(T));
    text_.append(bytes, sizeof(T));
  }
  template <class T>
  void numbers(std::span<const T> values) {
    number(static_cast<std::uint64_t>(values.size()));
    text_.append(reinterpret_cast<const char*>(values.data()), values.size_bytes());
  }
  void words(const std::string& text) { numbers(std::span<const char>{text}); }
  std::string text_{mark};
};

/// Reads what Out wrote; `ok` is false from the first thing that is not there or cannot be.
class In {
 public:
  explicit In(std::string_view text) : text_{text} {
    ok_ = text_.starts_with(mark);
    if (ok_) text_.remove_prefix(mark.size());
  }
  template <class T>
  T number() {
    T value{};
    if (!need(sizeof(T))) return value;
    std::memcpy(&value, text_.data(), sizeof(T));
    text_.remove_prefix(sizeof(T));
    return value;
  }
  double finite() {
    const auto value = number<double>();
    ok_ = ok_ && std::isfinite(value);
    return value;
  }
  template <class T>
  std::vector<T> numbers(std::size_t most) {
    const auto count = static_cast<std::size_t>(number<std::uint64_t>());
    if (count > most || !need(count * sizeof(T))) {
      ok_ = false;
      return {};
    }
    std::vector<T> values(count);
    if (count > 0) std::memcpy(values.data(), text_.data(), count * sizeof(T));
    text_.remove_prefix(count * sizeof(T));
    return values;
  }
  template <class T>
  std::vector<T> finite_numbers(std::size_t most) {
    auto values = numbers<T>(most);
    ok_ = ok_ && std::ranges::all_of(values, [](T value) { return std::isfinite(value); });
    return values;
  }
  std::string words() {
    const auto letters = numbers<char>(longest_text);
    return {letters.begin(), letters.end()};
  }
  [[nodiscard]] bool ok() const { return ok_; }
  [[nodiscard]] bool ended() const { return text_.empty(); }
  void refuse() { ok_ = false; }

 private:
  bool need(std::size_t bytes) {
    ok_ = ok_ && text_.size() >= bytes;
    return ok_;
  }
  std::string_view text_;
  bool ok_{};
};

/// The radius over the programme that was followed.
struct RadiusTable {
  double from_s{}, to_s{};
  std::vector<double> radius_m;
};

RadiusTable table_of(const listen::Kept& kept) {
  RadiusTable table{std::numeric_limits<double>::max(), std::numeric_limits<double>::lowest(), {}};
  for (const auto& stretch : kept.track.stretches)
    for (const double capture_s : {stretch.capture_from_s, stretch.capture_to_s}) {
      table.from_s = std::min(table.from_s, stretch.curve.programme_at(capture_s));
      table.to_s = std::max(table.to_s, stretch.curve.programme_at(capture_s));
    }
  if (!kept.reading.radius_m || table.to_s <= table.from_s) return {};
  for (std::size_t k = 0; k < radius_points; ++k)
    table.radius_m.push_back(
        kept.reading.radius_m(table.from_s + (table.to_s - table.from_s) * static_cast<double>(k) /
                                                 static_cast<double>(radius_points - 1)));
  return table;
}

std::function<double(double)> radius_from(RadiusTable table) {
  return [table = std::move(table)](double programme_s) {
    if (table.radius_m.empty()) return 0.0;
    const double share = (programme_s - table.from_s) / (table.to_s - table.from_s);
    const double at = std::clamp(share, 0.0, 1.0) * static_cast<double>(table.radius_m.size() - 1);
    const auto k = std::min(static_cast<std::size_t>(at), table.radius_m.size() - 2);
    const double rest = at - static_cast<double>(k);
    return (1.0 - rest) * table.radius_m[k] + rest * table.radius_m[k + 1];
  };
}

void write_stretch(Out& out, const listen::FollowedStretch& stretch) {
  for (const double value : {stretch.capture_from_s,
                             stretch.capture_to_s,
                             stretch.sure_from_s,
                             stretch.sure_to_s,
                             stretch.start_sigma_s,
                             stretch.end_sigma_s,
                             stretch.track.capture_from_s,
                             stretch.track.hop_s})
    out.number(value);
  out.numbers(std::span<const float>{stretch.calm});
  out.number(stretch.curve.first());
  out.numbers(stretch.curve.points());
}

std::optional<listen::FollowedStretch> read_stretch(In& in) {
  const double capture_from_s = in.finite(), capture_to_s = in.finite();
  const double sure_from_s = in.finite(), sure_to_s = in.finite();
  const auto start_sigma_s = in.number<double>(), end_sigma_s = in.number<double>();
  const double track_from_s = in.finite(), hop_s = in.finite();
  auto calm = in.finite_numbers<float>(most_points);
  const auto first = in.number<std::int64_t>();
  auto points = in.finite_numbers<double>(most_points);
  if (!in.ok() || points.size() < 2 || calm.empty() || capture_to_s < capture_from_s) {
    in.refuse();
    return std::nullopt;
  }
  return listen::FollowedStretch{
      .capture_from_s = capture_from_s,
      .capture_to_s = capture_to_s,
      .sure_from_s = sure_from_s,
      .sure_to_s = sure_to_s,
      // The points and their errors serve the kinematics, which were worked out.
      .track = {.capture_from_s = track_from_s, .hop_s = hop_s, .programme_s = {}, .sigma_s = {}},
      .calm = std::move(calm),
      .curve = listen::TrackCurve{first, maths::UniformSpline{std::move(points)}},
      .start_sigma_s = start_sigma_s,
      .end_sigma_s = end_sigma_s};
}

}  // namespace

std::string curve_text(const disc::Curve& curve) {
  for (const disc::Curve& known : disc::curves())
    if (known.name == curve.name) return std::string{known.name};
  std::string times =
      fmt::format("{}/{}/{}", curve.bass_s * 1e6, curve.turnover_s * 1e6, curve.treble_s * 1e6);
  if (curve.rumble_s > 0.0) times += fmt::format("/{}", curve.rumble_s * 1e6);
  return times;
}

Outcome write_kept(const std::string& path, const KeptTrack& track) {
  const listen::Kept& kept = track.kept;
  Out out;
  for (const std::string& text : {track.capture, track.reference, track.equalise}) out.words(text);
  for (const bool truth : {track.reference_played, kept.mono, kept.track.swapped})
    out.number(static_cast<std::uint8_t>(truth));
  out.number(static_cast<std::int32_t>(kept.track.polarity));
  for (const double value : {kept.track.gain,
                             kept.track.typical_sigma_s,
                             kept.reading.strength_m2,
                             kept.reading.limiting,
                             kept.reading.rpm})
    out.number(value);
  const RadiusTable radii = table_of(kept);
  out.number(radii.from_s);
  out.number(radii.to_s);
  out.numbers(std::span<const double>{radii.radius_m});
  out.number(static_cast<std::uint64_t>(kept.track.stretches.size()));
  for (const auto& stretch : kept.track.stretches) write_stretch(out, stretch);
  return intake::write_compressed(path, out.text_);
}

Result<KeptTrack> read_kept(const std::string& path) {
  const auto bytes = intake::read_compressed(path, largest_bytes);
  if (!bytes) return bytes.error();
  In in{*bytes};
  KeptTrack track;
  listen::Kept& kept = track.kept;
  for (std::string* text : {&track.capture, &track.reference, &track.equalise}) *text = in.words();
  for (bool* truth : {&track.reference_played, &kept.mono, &kept.track.swapped})
    *truth = in.number<std::uint8_t>() != 0;
  kept.track.polarity = in.number<std::int32_t>() < 0 ? -1 : 1;
  for (double* value : {&kept.track.gain,
                        &kept.track.typical_sigma_s,
                        &kept.reading.strength_m2,
                        &kept.reading.limiting,
                        &kept.reading.rpm})
    *value = in.finite();
  RadiusTable radii{in.finite(), in.finite(), in.finite_numbers<double>(radius_points)};
  const auto count = in.number<std::uint64_t>();
  if (count > most_stretches || radii.radius_m.size() == 1) in.refuse();
  for (std::uint64_t k = 0; in.ok() && k < count; ++k)
    if (auto stretch = read_stretch(in)) kept.track.stretches.push_back(std::move(*stretch));
  if (!in.ok() || !in.ended() || kept.track.stretches.empty())
    return Error{Fault::bad_input,
                 path + ": is no track that an analysis kept; hear the capture again"};
  kept.reading.radius_m = radius_from(std::move(radii));
  return track;
}

}  // namespace goodside::line
