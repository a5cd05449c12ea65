#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "draw/marks.hpp"
#include "draw/portrait_parts.hpp"
#include "draw/words.hpp"

namespace goodside::draw {
namespace {

/// Writes down the column, one thing under another.
class Column {
 public:
  explicit Column(Sitting& sitting) : sitting_{sitting} {}

  void heading(const std::string& text) {
    y_ += y_ > top ? 15.0 : 0.0;
    put(text, {.size = 14.0, .colour = sitting_.colours.ink, .bold = true});
    y_ += 3.0;
  }
  void line(const std::string& text) {
    put(text, {.size = 14.0, .colour = sitting_.colours.ink, .wrap_width = notes_width});
  }
  void quiet(const std::string& text) {
    put(text, {.size = 13.0, .colour = sitting_.colours.quiet_ink, .wrap_width = notes_width});
  }
  void cell(const std::string& text, double x, Align align, bool as_head) {
    sitting_.canvas.text(text,
                         {notes_left + x, y_},
                         {.size = as_head ? 13.0 : 14.0,
                          .colour = as_head ? sitting_.colours.quiet_ink : sitting_.colours.ink},
                         align);
  }
  void down(double by) { y_ += by; }
  [[nodiscard]] double y() const { return y_; }
  [[nodiscard]] Sitting& sitting() const { return sitting_; }

 private:
  static constexpr double top = 132.0;

  void put(const std::string& text, const TextStyle& style) {
    const Box box = sitting_.canvas.text(text, {notes_left, y_}, style);
    y_ += box.height + 1.0;
  }

  Sitting& sitting_;
  double y_{top};
};

/// The engine's reasons go on after a dash; here each begins a line.
std::string sentence(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z')
    text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

void reasons(Column& column) {
  constexpr std::size_t most = 3;
  const auto& verdict = column.sitting().report.verdict;
  column.heading("Why");
  if (verdict.reasons.empty()) {
    if (verdict.pass) column.line("Every limit that could be judged is kept.");
    return column.quiet("Limits: " + verdict.limits);
  }
  // Long reasons are fewer, so that the rest of the column keeps its place on the page.
  const double enough = column.y() + 90.0;
  std::size_t shown = 0;
  while (shown < std::min(most, verdict.reasons.size()) && column.y() < enough)
    column.line(sentence(verdict.reasons[shown++].text));
  const std::size_t left = verdict.reasons.size() - shown;
  column.quiet((left > 0 ? fmt::format("And {} more. ", left) : "") + "Limits: " + verdict.limits);
}

void fault_table(Column& column) {
  Sitting& sitting = column.sitting();
  const auto& faults = sitting.report.faults;
  if (faults.empty()) {
    column.heading("Faults");
    return column.line("None was found.");
  }
  column.heading(faults.size() > listed_faults
                     ? fmt::format("Worst {} of {} faults", listed_faults, faults.size())
                     : "Faults, worst first");
  constexpr double x_rank = 10.0, x_time = 94.0, x_radius = 177.0, x_angle = 229.0, x_kind = 244.0,
                   x_peak = 366.0;
  column.cell("time", x_time, Align::right, true);
  column.cell("radius mm", x_radius, Align::right, true);
  column.cell("angle", x_angle, Align::right, true);
  column.cell("kind", x_kind, Align::left, true);
  column.cell("peak dB", x_peak, Align::right, true);
  column.down(18.0);
  for (std::size_t i = 0; i < std::min(listed_faults, faults.size()); ++i) {
    const auto& fault = faults[sitting.worst[i]];
    column.cell(fmt::format("{}", i + 1), x_rank, Align::right, false);
    column.cell(clock_ms(fault.programme_s.value_or(fault.capture_s)), x_time, Align::right, false);
    column.cell(
        fault.radius_m ? fmt::format("{:.1f}", sitting.shown_radius_m(*fault.radius_m) * 1e3) : "–",
        x_radius,
        Align::right,
        false);
    column.cell(fault.angle_deg ? degrees(*fault.angle_deg) : "–", x_angle, Align::right, false);
    column.cell(std::string{word(fault.kind)}, x_kind, Align::left, false);
    column.cell(fmt::format("{:.1f}", fault.peak_dB), x_peak, Align::right, false);
    column.down(19.0);
  }
  if (!sitting.report.reference && !sitting.report.alignment)
    column.quiet("Times count from the capture's first sample, peaks from its full scale.");
  if (is_metal(sitting.options.view))
    column.quiet(sitting.options.shrinkage > 0.0
                     ? fmt::format("Radius on the metal, shrinkage {:.2f} %",
                                   sitting.options.shrinkage * 1e2)
                     : "Radius as on the disc: no shrinkage was given");
}

void marks(Column& column) {
  using works::FaultKind;
  Sitting& sitting = column.sitting();
  if (std::ranges::none_of(sitting.report.faults, has_place)) return;
  column.heading("Marks, larger is louder");
  int shown = 0;
  for (const FaultKind kind : {FaultKind::tick,
                               FaultKind::pop,
                               FaultKind::burst,
                               FaultKind::dropout,
                               FaultKind::jump,
                               FaultKind::repeat,
                               FaultKind::clip}) {
    const auto count = std::count_if(
        sitting.report.faults.begin(), sitting.report.faults.end(), [&](const auto& fault) {
          return fault.kind == kind && has_place(fault);
        });
    if (count == 0) continue;
    const double x = 120.0 * (shown % 3);
    draw_mark(
        sitting.canvas,
        kind,
        {.at = {notes_left + x + 12.0, column.y() + 9.0}, .inwards_rad = 1.5708, .radius = 6.5},
        sitting.colours);
    column.cell(fmt::format("{} {}", count, word(kind)), x + 28.0, Align::left, false);
    if (++shown % 3 == 0) column.down(22.0);
  }
  if (shown % 3 != 0) column.down(22.0);
}

std::string pattern_line(const works::Pattern& pattern) {
  std::string text = fmt::format("{}{}: {} faults, turns {} to {}",
                                 word(pattern.kind),
                                 pattern.nature ? fmt::format(", {}", word(*pattern.nature)) : "",
                                 pattern.faults.size(),
                                 pattern.first_revolution,
                                 pattern.last_revolution);
  if (pattern.angle_deg) text += ", at " + degrees(*pattern.angle_deg);
  return text;
}

void patterns(Column& column) {
  constexpr std::size_t most = 2;
  const auto& all = column.sitting().report.patterns;
  if (all.empty()) return;
  column.heading("Patterns, drawn in copper");
  for (std::size_t i = 0; i < std::min(most, all.size()); ++i) column.line(pattern_line(all[i]));
  if (all.size() > most) column.quiet(fmt::format("And {} more.", all.size() - most));
}

void offset(Column& column) {
  const auto& wow = column.sitting().report.wow;
  column.heading("Offset, hole to groove's centre");
  if (!wow.eccentricity_m) return column.line("Not determined.");
  std::string text = fmt::format("{:.3f}", *wow.eccentricity_m * 1e3);
  if (wow.eccentricity_sigma_m) text += fmt::format(" ± {:.3f}", *wow.eccentricity_sigma_m * 1e3);
  text += " mm";
  if (wow.eccentricity_direction_deg)
    text += " towards " + degrees(*wow.eccentricity_direction_deg);
  column.line(text + ", as seated");
  if (column.sitting().offset_magnification > 0.0)
    column.quiet(fmt::format("The ring at the arrow's tip is 2σ.{}",
                             wow.arm_corrected ? "" : " Arm not corrected."));
}

void noise(Column& column) {
  Sitting& sitting = column.sitting();
  Canvas& canvas = sitting.canvas;
  cairo_t* pen = canvas.pen();
  column.heading("Noise that is not programme");
  if (sitting.noise_scale) {
    const AmountScale& scale = *sitting.noise_scale;
    constexpr double left = notes_left + 16.0, width = 330.0, height = 14.0;
    constexpr int strips = 110;
    column.down(3.0);
    for (int i = 0; i < strips; ++i) {
      canvas.ink(amount_colour((i + 0.5) / strips));
      cairo_rectangle(pen,
                      left + width * i / strips,
                      column.y(),
                      width / strips + (i + 1 < strips ? 0.5 : 0.0),
                      height);
      cairo_fill(pen);
    }
    column.down(height + 2.0);
    const int ticks = static_cast<int>(std::lround((scale.high - scale.low) / scale.step));
    for (int i = 0; i <= ticks; ++i) {
      const double value = scale.low + i * scale.step;
      canvas.text(fmt::format("{:g}", value == 0.0 ? 0.0 : value),
                  {left + width * scale.amount(value), column.y()},
                  {.size = 13.0, .colour = sitting.colours.ink},
                  Align::centre);
    }
    column.down(18.0);
    const std::string& zero = sitting.report.noise.polar->reference;
    column.quiet(zero.empty() ? "dB" : "dB, " + zero);
  } else {
    column.line("Not measured.");
  }
  const Box swatch{notes_left + 16.0, column.y() + 3.0, 26.0, 13.0};
  cairo_save(pen);
  cairo_rectangle(pen, swatch.x, swatch.y, swatch.width, swatch.height);
  cairo_clip(pen);
  hatch(sitting, swatch);
  cairo_restore(pen);
  column.down(1.0);
  column.cell("not heard, or not measured", 52.0, Align::left, true);
}

}  // namespace

void draw_notes(Sitting& sitting) {
  Column column{sitting};
  const Standing stands = standing(sitting.report);
  if (stands == Standing::not_this_cut) {
    reasons(column);
    column.heading("What to do");
    column.line(
        "Compare ticket, label and matrix number with the order; then hear it against its own "
        "cut.");
    return;
  }
  if (stands == Standing::unjudged && !sitting.report.verdict.limits.empty())
    column.line("No limit that can be judged without the cut is broken.");
  if (stands != Standing::unjudged) reasons(column);
  fault_table(column);
  marks(column);
  patterns(column);
  if (sitting.report.wow.eccentricity_m || sitting.report.reference) offset(column);
  if (sitting.noise_scale || sitting.report.reference) noise(column);
}

}  // namespace goodside::draw
