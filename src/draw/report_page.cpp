#include "draw/report_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <utility>

#include "draw/html.hpp"
#include "draw/levels_plot.hpp"
#include "draw/page_style.hpp"
#include "draw/portrait.hpp"
#include "draw/words.hpp"
#include "draw/wow_plot.hpp"

namespace goodside::draw {
namespace {

using html::escaped;

// PNG alone: its size is bounded whatever it shows. 190 dots an inch on A4.
constexpr int picture_width_px = 1400;
constexpr std::size_t faults_in_view = 10, most_faults = 400, most_cells = 2000,
                      most_wow_rows = 120;

std::string known(const std::optional<double>& value, int decimals, double unit = 1.0) {
  return value ? fmt::format("{:.{}f}", *value * unit, decimals) : "–";
}

std::string paragraph(std::string_view text, std::string_view kind = "") {
  return fmt::format("<p{}>{}</p>\n", kind, escaped(text));
}

std::string heading(std::string_view text) {
  return fmt::format("<h2>{}</h2>\n", escaped(text));
}

/// A picture by day (and on paper) and in the dark, of one description.
struct Picture {
  std::string day, dark;  ///< bytes of PNG files
};

std::string image(const Picture& picture, std::string_view description) {
  return fmt::format(
      "<div class=\"picture\" tabindex=\"0\"><picture><source media=\"screen and "
      "(prefers-color-scheme: dark)\" srcset=\"{}\">"
      "<img src=\"{}\" alt=\"{}\"></picture></div>\n",
      html::data_uri("image/png", picture.dark),
      html::data_uri("image/png", picture.day),
      escaped(description));
}

template <class Draw>
Result<Picture> by_day_and_dark(const Draw& draw) {
  auto day = draw(false);
  if (!day) return day.error();
  auto dark = draw(true);
  if (!dark) return dark.error();
  return Picture{std::move(*day), std::move(*dark)};
}

std::string verdict_shape(Standing stands) {
  const char* shape =
      "<circle cx=\"12\" cy=\"12\" r=\"9\" fill=\"none\" stroke=\"currentColor\" "
      "stroke-width=\"3\"/>";
  if (stands == Standing::good)
    shape = "<circle cx=\"12\" cy=\"12\" r=\"10.5\" fill=\"currentColor\"/>";
  if (stands == Standing::out || stands == Standing::not_this_cut)
    shape = "<path d=\"M12 2 23 22H1Z\" fill=\"currentColor\"/>";
  return fmt::format("<svg viewBox=\"0 0 24 24\" aria-hidden=\"true\">{}</svg>", shape);
}

std::string_view verdict_class(Standing stands) {
  switch (stands) {
    case Standing::good:
      return " class=\"good\"";
    case Standing::out:
    case Standing::not_this_cut:
      return " class=\"out\"";
    case Standing::unjudged:
      break;
  }
  return "";
}

std::size_t count(const works::ListeningReport& report, works::Audibility audibility) {
  return static_cast<std::size_t>(std::ranges::count_if(
      report.faults, [&](const auto& fault) { return fault.audibility == audibility; }));
}

std::string head(const works::ListeningReport& report, const PageOptions& options) {
  const Standing stands = standing(report);
  std::string text = fmt::format("<header>\n<h1{}>{}<span>{}</span></h1>\n",
                                 verdict_class(stands),
                                 verdict_shape(stands),
                                 word(stands));
  std::string what = options.title.empty() ? "" : options.title + " · ";
  what += file_name(report.capture.path);
  if (report.reference) what += " against " + file_name(report.reference->file.path);
  what += " · " + report.geometry.format;
  if (!options.date.empty()) what += " · " + options.date;
  text += paragraph(what);
  if (!report.verdict.limits.empty())
    text += paragraph("Limits: " + report.verdict.limits, " class=\"quiet\"");
  if (!report.verdict.reasons.empty()) {
    text += "<ul>\n";
    for (const auto& reason : report.verdict.reasons)
      text += fmt::format("<li>{}</li>\n", escaped(reason.text));
    text += "</ul>\n";
  } else if (stands == Standing::good) {
    text += paragraph("Every limit that could be judged is kept.");
  }
  if (!options.next.empty())
    text += fmt::format("<p class=\"next\"><strong>Next:</strong> {}</p>\n", escaped(options.next));
  return text + "</header>\n";
}

html::Table noise_table(const works::PolarMap& map) {
  html::Table table{
      fmt::format("Noise [dB], {}; a row is {:g} turns from the outside in, a column {:g}°",
                  map.reference,
                  map.revolutions_per_row,
                  360.0 / std::max(1, map.columns)),
      {"turn"},
      {}};
  for (int c = 0; c < map.columns; ++c)
    table.heads.push_back(fmt::format("{:.0f}°", 360.0 * c / map.columns));
  for (int r = 0; r < map.rows; ++r) {
    std::vector<std::string> row{fmt::format("{:g}", r * map.revolutions_per_row)};
    for (int c = 0; c < map.columns; ++c)
      row.push_back(known(map.dB[static_cast<std::size_t>(r * map.columns + c)], 1));
    table.rows.push_back(std::move(row));
  }
  return table;
}

html::Table pattern_table(const works::ListeningReport& report) {
  html::Table table{
      "Patterns", {"kind|", "faults", "first turn", "last turn", "angle", "span"}, {}};
  for (const auto& pattern : report.patterns)
    table.rows.push_back(
        {std::string{word(pattern.kind)},
         std::to_string(pattern.faults.size()),
         std::to_string(pattern.first_revolution),
         std::to_string(pattern.last_revolution),
         pattern.angle_deg ? degrees(*pattern.angle_deg) : "–",
         pattern.angle_span_deg ? fmt::format("{:.1f}°", *pattern.angle_span_deg) : "–"});
  return table;
}

Result<std::string> portrait_part(const works::ListeningReport& report,
                                  const PageOptions& options) {
  const auto drawn = by_day_and_dark([&](bool dark) {
    return portrait(report,
                    {.view = options.view,
                     .width_px = picture_width_px,
                     .dark = dark,
                     .shrinkage = options.shrinkage,
                     .landmark_angle_deg = options.landmark_angle_deg,
                     .landmark = options.landmark,
                     .title = options.title,
                     .date = options.date});
  });
  if (!drawn) return drawn.error();
  std::string text = heading("The disc");
  text += image(*drawn,
                "Disc portrait: faults at their radius and angle over the noise of the recorded "
                "band. Its figures are in the tables below.");
  std::string tables;
  if (!report.patterns.empty()) tables += html::table(pattern_table(report));
  if (const auto& map = report.noise.polar) {
    if (map->dB.size() <= most_cells &&
        map->dB.size() ==
            static_cast<std::size_t>(map->rows) * static_cast<std::size_t>(map->columns))
      tables += html::table(noise_table(*map));
    else
      tables +=
          paragraph("The noise map has more cells than fit here: they are in the JSON report.");
  }
  if (!tables.empty()) text += html::details("Figures of this picture", tables);
  return text;
}

std::string player(std::string_view name, const std::string& wav, const std::string& label) {
  return wav.empty() ? ""
                     : fmt::format(
                           "<div><span>{}</span><audio controls preload=\"metadata\" "
                           "aria-label=\"{}\" src=\"{}\">"
                           "</audio></div>\n",
                           name,
                           escaped(label),
                           html::data_uri("audio/wav", wav));
}

std::string place(const works::FaultEvent& fault) {
  std::string text = clock_ms(fault.programme_s.value_or(fault.capture_s));
  if (fault.radius_m) text += fmt::format(", {:.1f} mm", *fault.radius_m * 1e3);
  if (fault.angle_deg) text += ", " + degrees(*fault.angle_deg);
  return text;
}

std::string sounds_part(const works::ListeningReport& report, const PageOptions& options) {
  if (options.sounds.empty()) return "";
  std::string text = "<section class=\"screen\">\n" + heading("What the worst sound like");
  const bool with_cut = std::ranges::any_of(
      options.sounds, [](const FaultSound& sound) { return !sound.cut.empty(); });
  text += paragraph(with_cut
                        ? "All at one gain, the louder channel alone. The difference is the "
                          "capture with the cut, as this "
                          "player plays it, taken away: what is left is the disc’s."
                        : "The louder channel alone. Without a cut there is no difference to hear.",
                    " class=\"quiet\"");
  const auto order = worst_first(report.faults);
  for (const FaultSound& sound : options.sounds) {
    const auto& fault = report.faults.at(sound.fault);
    const auto rank = std::ranges::find(order, sound.fault) - order.begin() + 1;
    const std::string name = fmt::format("{}. {} at {}", rank, word(fault.kind), place(fault));
    text += fmt::format(
        "<div class=\"sound\"><h3>{}</h3>\n<p class=\"quiet\">{}</p>\n<div "
        "class=\"players\">\n{}{}{}</div>"
        "</div>\n",
        escaped(name),
        escaped(fmt::format("{} channel, capture time {} to {}, the fault {:.2f} s in",
                            sound.channel,
                            clock_ms(sound.from_s),
                            clock_ms(sound.to_s),
                            fault.capture_s - sound.from_s)),
        player("capture", sound.capture, name + ", capture"),
        player("cut", sound.cut, name + ", cut"),
        player("difference", sound.difference, name + ", difference"));
  }
  return text + "</section>\n";
}

std::vector<std::string> fault_row(const works::ListeningReport& report,
                                   std::size_t rank,
                                   std::size_t index) {
  const auto& fault = report.faults[index];
  return {std::to_string(rank + 1),
          clock_ms(fault.programme_s.value_or(fault.capture_s)),
          clock_ms(fault.capture_s),
          known(fault.radius_m, 1, 1e3),
          fault.angle_deg ? degrees(*fault.angle_deg) : "–",
          fault.angle_sigma_deg ? fmt::format("{:.1f}°", *fault.angle_sigma_deg) : "–",
          fault.revolution ? std::to_string(*fault.revolution) : "–",
          std::string{word(fault.kind)},
          fmt::format("{:.1f}", fault.duration_s * 1e3),
          fmt::format("{:.1f}", fault.peak_dB),
          fmt::format("{:.1f}", fault.excess_dB),
          known(fault.margin_dB, 1),
          std::string{word(fault.audibility)},
          fmt::format("{}, {}", word(fault.channel), word(fault.plane))};
}

std::string faults_part(const works::ListeningReport& report) {
  std::string text = heading("Faults");
  if (standing(report) == Standing::not_this_cut)
    return text + paragraph("Not sought: the capture does not follow this cut.");
  if (report.faults.empty()) return text + paragraph("None was found.");
  text += paragraph(
      fmt::format("{} plain and {} slight, worst first; {} more are masked by the programme.",
                  count(report, works::Audibility::plain),
                  count(report, works::Audibility::slight),
                  report.masked_count));
  const std::vector<std::string> heads{"",
                                       "time",
                                       "in capture",
                                       "radius mm",
                                       "angle",
                                       "± 1σ",
                                       "turn",
                                       "kind|",
                                       "length ms",
                                       "peak dB",
                                       "excess dB",
                                       "margin dB",
                                       "heard|",
                                       "channel, plane|"};
  const auto order = worst_first(report.faults);
  const std::size_t shown = std::min(faults_in_view, order.size()),
                    all = std::min(most_faults, order.size());
  html::Table worst{
      fmt::format("The {} worst. Radius and angle as on the disc; peak re full scale of the cut",
                  shown),
      heads,
      {}};
  html::Table rest{fmt::format("Faults {} to {}", shown + 1, all), heads, {}};
  for (std::size_t rank = 0; rank < all; ++rank)
    (rank < shown ? worst : rest).rows.push_back(fault_row(report, rank, order[rank]));
  text += html::table(worst);
  if (all > shown)
    text += html::details(fmt::format("{} more faults", all - shown), html::table(rest));
  if (order.size() > all)
    text += paragraph(fmt::format("{} more are in the JSON report.", order.size() - all));
  return text;
}

Result<std::string> wow_part(const works::ListeningReport& report, const PlotOptions& base) {
  const auto drawn = by_day_and_dark([&](bool dark) {
    PlotOptions options = base;
    options.dark = dark;
    return wow_plot(report, options);
  });
  if (!drawn) return drawn.error();
  std::string text = heading("Wow");
  text += image(
      *drawn,
      "Speed deviation against capture time, with the limits. Its figures are in the table below.");
  html::Table table{"Range of the speed deviation", {"from", "to", "least %", "most %"}, {}};
  for (const WowSpan& span : wow_spans(report.wow.curve, most_wow_rows))
    table.rows.push_back({clock_ms(span.from_s),
                          clock_ms(span.to_s),
                          fmt::format("{:+.4f}", span.least * 100.0),
                          fmt::format("{:+.4f}", span.most * 100.0)});
  if (!table.rows.empty()) text += html::details("Figures of this picture", html::table(table));
  return text;
}

Result<std::string> levels_part(const works::ListeningReport& report, const PlotOptions& base) {
  const auto drawn = by_day_and_dark([&](bool dark) {
    PlotOptions options = base;
    options.dark = dark;
    return levels_plot(report, options);
  });
  if (!drawn) return drawn.error();
  std::string text = heading("Levels");
  text += image(*drawn,
                "Level against the cut by third octaves, left and right, with the limits. Its "
                "figures are in the table below.");
  html::Table table{"Level of the capture against the cut, gain included",
                    {"third octave Hz", "left dB", "right dB"},
                    {}};
  for (const auto& band : report.levels.third_octave)
    table.rows.push_back({fmt::format("{:.0f}", band.centre_Hz),
                          fmt::format("{:+.2f}", band.left_dB),
                          fmt::format("{:+.2f}", band.right_dB)});
  if (!table.rows.empty()) text += html::details("Figures of this picture", html::table(table));
  return text;
}

std::string measures_part(const works::ListeningReport& report) {
  html::Table table{"Measures", {"measure|", "value", "what it is|"}, {}};
  const auto add = [&](const char* name, const std::string& value, const std::string& what) {
    if (value != "–") table.rows.push_back({name, value, what});
  };
  const auto dB = [](const std::optional<double>& value) {
    return value ? fmt::format("{:.1f} dB", *value) : std::string{"–"};
  };
  std::string heard;
  for (const auto& part : report.heard)
    heard += fmt::format(
        "{}{} to {}", heard.empty() ? "" : ", ", clock_s(part.from_s), clock_s(part.to_s));
  add("heard", heard.empty() ? "–" : heard, "of the programme");
  if (const auto& alignment = report.alignment; alignment && alignment->found) {
    add("speed",
        fmt::format("{:+.3f} %", alignment->speed_error_ppm * 1e-4),
        "against the cut, as measured");
    if (alignment->drive_error_ppm)
      add("drive",
          fmt::format("{:+.3f} %", *alignment->drive_error_ppm * 1e-4),
          "arm and clock corrected");
    add("gain", fmt::format("{:+.1f} dB", alignment->gain_dB), "capture against the cut");
  }
  const auto& wow = report.wow;
  if (wow.eccentricity_m)
    add("offset",
        fmt::format(
            "{:.3f} ± {} mm", *wow.eccentricity_m * 1e3, known(wow.eccentricity_sigma_m, 3, 1e3)),
        fmt::format("hole to groove’s centre, as seated{}",
                    wow.eccentricity_direction_deg
                        ? ", towards " + degrees(*wow.eccentricity_direction_deg)
                        : ""));
  if (wow.weighted_2sigma)
    add("wow and flutter",
        fmt::format("{:.3f} %", *wow.weighted_2sigma * 100.0),
        "weighted, 2σ; player included");
  add("noise", dB(report.noise.weighted_dB), report.noise.weighted_reference);
  add("rumble", dB(report.noise.rumble_dB), report.noise.rumble_reference);
  add("hum", dB(report.noise.hum_dB), report.noise.hum_reference);
  add("echo before", dB(report.noise.echo.lead_dB), "of the turn ahead, re the programme");
  add("echo after", dB(report.noise.echo.lag_dB), "of the turn behind, re the programme");
  add("balance", dB(report.levels.balance_dB), "right against left");
  add("separation", dB(report.levels.separation_dB), "between the channels");
  if (report.levels.high_loss_dB_per_m)
    add("treble loss",
        fmt::format("{:.2f} dB/cm", *report.levels.high_loss_dB_per_m * 1e-2),
        "towards the centre");
  std::string text = heading("Measures");
  text += table.rows.empty() ? paragraph("None could be taken.") : html::table(table);
  if (!report.undetermined.empty()) {
    html::Table unknown{"What is not known", {"field|", "why|"}, {}};
    for (const auto& one : report.undetermined) unknown.rows.push_back({one.field, one.why});
    text += html::table(unknown);
  }
  if (!report.remarks.empty()) {
    text += "<ul>\n";
    for (const std::string& remark : report.remarks)
      text += fmt::format("<li>{}</li>\n", escaped(remark));
    text += "</ul>\n";
  }
  return text;
}

std::string files_part(const works::ListeningReport& report) {
  const auto one = [](const char* what, const works::AudioFile& file) {
    return paragraph(fmt::format("{}: {}, {:g} kHz, {} channel{}, {}{}{}",
                                 what,
                                 file.path,
                                 file.sample_rate_Hz / 1000.0,
                                 file.channels,
                                 file.channels == 1 ? "" : "s",
                                 clock_s(file.duration_s),
                                 file.sha256.empty() ? "" : ", SHA-256 ",
                                 file.sha256),
                     " class=\"quiet\"");
  };
  std::string text = heading("Files") + one("Capture", report.capture);
  if (report.reference) text += one("Reference", report.reference->file);
  return text;
}

}  // namespace

Result<std::string> report_page(const works::ListeningReport& report, const PageOptions& options) {
  const PlotOptions plot{.width_px = picture_width_px,
                         .limits = options.limits,
                         .title = options.title,
                         .date = options.date};
  const bool measured = standing(report) != Standing::not_this_cut;
  std::string body = head(report, options);
  auto disc = portrait_part(report, options);
  if (!disc) return disc.error();
  body += *disc;
  if (measured) body += sounds_part(report, options);
  body += faults_part(report);
  if (measured) {
    for (auto part : {wow_part(report, plot), levels_part(report, plot)}) {
      if (!part) return part.error();
      body += *part;
    }
    body += measures_part(report);
  }
  body += files_part(report);
  return fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en-GB\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; "
      "media-src data:; style-src 'unsafe-inline'; script-src 'unsafe-inline'\">\n"
      "<title>{}: {}</title>\n<style>{}</style>\n</head>\n<body>\n<main>\n{}</main>\n"
      "<script>{}</script>\n</body>\n</html>\n",
      word(standing(report)),
      escaped(options.title.empty() ? file_name(report.capture.path) : options.title),
      page_style(),
      body,
      page_script());
}

}  // namespace goodside::draw
