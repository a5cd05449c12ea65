#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <map>
#include <mutex>

#include "draw/levels_plot.hpp"
#include "draw/portrait.hpp"
#include "draw/strip_plot.hpp"
#include "draw/wow_plot.hpp"
#include "intake/limits.hpp"
#include "intake/works_folder.hpp"
#include "json/listening_report.hpp"
#include "line/give_opinion.hpp"
#include "line/sample_tickets.hpp"
#include "serve/board.hpp"
#include "serve/nodes.hpp"
#include "serve/reports.hpp"
#include "serve/sounds.hpp"

namespace goodside::serve {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;

constexpr double longest_sound_s = 60.0, usual_sound_s = 2.0, least_sound_s = 0.05;
constexpr double before_share = 0.4;  // of the sound, so that the ear is in the music

struct Known {
  Row report, capture;
  Play play;
};

Known known_play(Board& board, const std::string& code) {
  Known known;
  board.read([&](Reader& reader) {
    known.report = need(reader, "report", code);
    const auto play = board.standing.play(code);
    if (!play) throw Stop{404, fmt::format("report {} was taken back", code)};
    known.play = *play;
    known.capture = need(reader, "capture", play->capture);
  });
  return known;
}

/// What listeners said; of each listener the last word on a fault counts.
json::Node opinions_node(Reader& reader, const Play& play) {
  List list;
  std::map<std::pair<std::int64_t, std::string>, std::string> last;
  std::int64_t added = 0;
  for (const Row& row : reader.standing("opinion", "report", play.report)) {
    list.push_back(Object{{"code", text(at(row, "code"))},
                          {"who", text(at(row, "who"))},
                          {"at_ms", whole(at(row, "at_ms"))},
                          {"fault", cell(row, "fault")},
                          {"opinion", text(at(row, "opinion"))},
                          {"programme_s", cell(row, "programme_s")},
                          {"capture_s", cell(row, "capture_s")},
                          {"what", cell(row, "what")},
                          {"words", cell(row, "words")}});
    if (text(at(row, "opinion")) == "added") ++added;
    if (!ledger::is_null(at(row, "fault")))
      last[{whole(at(row, "fault")), text(at(row, "who"))}] = text(at(row, "opinion"));
  }
  std::map<std::int64_t, bool> agreed;  // a fault that anybody disagrees with is not agreed
  for (const auto& [key, opinion] : last) {
    const auto [fault, fresh] = agreed.try_emplace(key.first, true);
    fault->second = fault->second && opinion == "agree";
  }
  const auto yes = std::ranges::count_if(agreed, [](const auto& one) { return one.second; });
  const auto judged = static_cast<std::int64_t>(agreed.size());
  return Object{{"opinions", std::move(list)},
                {"agreed", std::int64_t{yes}},
                {"disagreed", judged - yes},
                {"added", added},
                {"not_judged", std::max<std::int64_t>(0, play.plain + play.slight - judged)}};
}

json::Node member(const json::Node& node, std::string_view name) {
  const json::Node* const found = node.find(name);
  return found == nullptr ? json::Node{} : *found;
}

double number(const json::Node& node) {
  if (const auto* real = std::get_if<double>(&node.value)) return *real;
  if (const auto* count = std::get_if<std::int64_t>(&node.value))
    return static_cast<double>(*count);
  return std::nan("");
}

json::Node portrait_node(Board& board, const Row& report) {
  return or_stop(
      json::read_node(board.reports.portrait(report), json::largest_report_bytes, "the portrait"));
}

std::optional<double> capture_s_of(const json::Node& portrait, std::int64_t fault) {
  const json::Node list = member(portrait, "faults");
  if (const auto* faults = std::get_if<List>(&list.value))
    for (const json::Node& one : *faults)
      if (member(one, "id") == json::Node{fault}) return number(member(one, "capture_s"));
  return std::nullopt;
}

/// The limits that the works has for such a side now, where they are those that it was judged by.
std::optional<works::Limits> limits_of(const Board& board,
                                       const std::string& format,
                                       const std::string& name) {
  auto limits = intake::read_limits(
      (std::filesystem::path{board.place.folder} / intake::works_file_name).string(), format);
  if (!limits || limits->name != name) return std::nullopt;
  return std::move(*limits);
}

/// What the page's plots draw as limits; null where the works has others by now.
json::Node limits_node(const Board& board, const json::Node& portrait) {
  const auto word = [](const json::Node& node) {
    const auto* text = std::get_if<std::string>(&node.value);
    return text == nullptr ? std::string{} : *text;
  };
  const auto limits = limits_of(board,
                                word(member(member(portrait, "shape"), "format")),
                                word(member(member(portrait, "verdict"), "limits")));
  if (!limits) return {};
  return Object{{"eccentricity_m", or_null(limits->eccentricity_m)},
                {"once_per_rev_peak", or_null(limits->once_per_rev_peak)},
                {"level_deviation_dB", or_null(limits->level_deviation_dB)}};
}

Answer play(Board& board, const std::string& code) {
  const Known known = known_play(board, code);
  Object out;
  const std::string why = board.sounds.why_no_cut(known.report);
  std::error_code ignored;
  board.read([&](Reader& reader) {
    const auto [before, after] = board.standing.neighbours(known.play);
    const json::Node portrait = portrait_node(board, known.report);
    const double duration_s = number(member(portrait, "duration_s"));
    out = {{"play", play_node(known.play)},
           {"name", text(at(need(reader, "title", known.play.title), "name"))},
           {"disc",
            Object{{"run", known.play.run},
                   {"impression", range_node(known.play.first, known.play.last)},
                   {"ticket", known.play.ticket}}},
           {"previous", or_null(before)},
           {"next", or_null(after)},
           {"audio",
            Object{{"capture", true},
                   {"cut", why.empty()},
                   {"difference", why.empty()},
                   {"duration_s", duration_s},
                   {"why", or_null(why)}}},
           {"limits", limits_node(board, portrait)},
           {"opinions", opinions_node(reader, known.play)}};
  });
  return answer(out);
}

Answer whole_report(Board& board, const std::string& code) {
  const Known known = known_play(board, code);
  return {.type = "application/json", .body = board.reports.text(known.report)};
}

Answer portrait(Board& board, const std::string& code) {
  const Known known = known_play(board, code);
  return {.type = "application/json", .body = board.reports.portrait(known.report)};
}

template <class Value, std::size_t count>
Value one_of(const Asked& asked,
             const char* name,
             const std::array<std::pair<std::string_view, Value>, count>& words) {
  const auto given = asked.asked_for(name);
  if (!given) return words.front().second;
  std::string choices;
  for (const auto& [word, value] : words) {
    if (word == *given) return value;
    choices += fmt::format("{}{}", choices.empty() ? "" : ", ", word);
  }
  throw Stop{400, fmt::format("{}: give one of {}", name, choices)};
}

enum class Picture { portrait, strip, wow, levels };

/// A drawn picture, to be saved or printed.
Answer picture(Board& board, Asked& asked) {
  constexpr std::array<std::pair<std::string_view, draw::View>, 4> views{
      {{"disc", draw::View::disc},
       {"mother", draw::View::mother},
       {"stamper", draw::View::stamper},
       {"father", draw::View::father}}};
  constexpr std::array<std::pair<std::string_view, Picture>, 4> pictures{
      {{"portrait", Picture::portrait},
       {"strip", Picture::strip},
       {"wow", Picture::wow},
       {"levels", Picture::levels}}};
  using draw::PictureFormat;
  constexpr std::array<std::pair<std::string_view, PictureFormat>, 3> formats{
      {{"svg", PictureFormat::svg}, {"png", PictureFormat::png}, {"pdf", PictureFormat::pdf}}};
  const Known known = known_play(board, code_of(asked, "report"));
  const Picture of = one_of(asked, "of", pictures);
  const auto view = one_of(asked, "view", views);
  const auto format = one_of(asked, "format", formats);
  std::string title;
  board.read([&](Reader& reader) {
    title = fmt::format(
        "{} {}", text(at(need(reader, "title", known.play.title), "name")), known.play.letter);
  });
  const auto report = or_stop(json::read(board.reports.text(known.report)));
  const draw::PlotOptions plot{
      .format = format,
      .limits =
          limits_of(board, report.geometry.format, report.verdict.limits).value_or(works::Limits{}),
      .title = title};
  static std::mutex one_at_a_time;  // NOLINT: a picture takes a core for a while
  const std::lock_guard lock{one_at_a_time};
  const auto drawn = [&] {
    switch (of) {
      case Picture::strip:
        return draw::strip_plot(report, plot);
      case Picture::wow:
        return draw::wow_plot(report, plot);
      case Picture::levels:
        return draw::levels_plot(report, plot);
      case Picture::portrait:
        break;
    }
    return draw::portrait(report, {.view = view, .format = format, .title = title});
  };
  return {.type = format == PictureFormat::svg   ? "image/svg+xml"
                  : format == PictureFormat::png ? "image/png"
                                                 : "application/pdf",
          .body = or_stop(drawn())};
}

listen::Window window_of(Board& board, const Asked& asked, const Row& report) {
  const auto from_s = asked.real("from_s"), to_s = asked.real("to_s");
  if (const auto text = asked.asked_for("fault")) {
    const auto fault = whole_number(*text);
    if (!fault || from_s || to_s) throw Stop{400, "give fault, or from_s and to_s"};
    const double about_s = asked.real("about_s").value_or(usual_sound_s);
    if (!(about_s >= least_sound_s && about_s <= longest_sound_s))
      throw Stop{422, fmt::format("about_s: give {} to {} s", least_sound_s, longest_sound_s)};
    const auto at_s = capture_s_of(portrait_node(board, report), *fault);
    if (!at_s || !std::isfinite(*at_s))
      throw Stop{404, fmt::format("the report has no fault {}", *fault)};
    const double begin_s = std::max(0.0, *at_s - before_share * about_s);
    return {begin_s, begin_s + about_s};
  }
  if (!from_s || !to_s) throw Stop{400, "give from_s and to_s, or fault"};
  if (!(*from_s >= 0.0 && *to_s - *from_s >= least_sound_s && *to_s - *from_s <= longest_sound_s &&
        *to_s < 36'000.0))
    throw Stop{422,
               fmt::format("from_s, to_s: a sound is {} to {} s long and begins at 0 or later",
                           least_sound_s,
                           longest_sound_s)};
  return {*from_s, *to_s};
}

Answer audio(Board& board, Asked& asked) {
  const Known known = known_play(board, code_of(asked, "report"));
  const std::string which = asked.asked_for("sound").value_or("");
  if (which != "capture" && which != "cut" && which != "difference")
    throw Stop{400, "sound: give capture, cut or difference"};
  const listen::Window window = window_of(board, asked, known.report);
  const std::string tag = fmt::format("\"{}-{}-{}-{}\"",
                                      text(at(known.report, "sha256")).substr(0, 16),
                                      which,
                                      window.from_s,
                                      window.to_s);
  Answer sound{.type = "audio/wav"};
  if (asked.header("If-None-Match") == tag) {
    sound.status = 304;
  } else {
    const auto made = board.sounds.window(known.report, known.capture, window);
    sound.body = which == "capture" ? made->capture : which == "cut" ? made->cut : made->difference;
    if (sound.body.empty()) throw Stop{404, board.sounds.why_no_cut(known.report)};
    const std::string range = asked.header("If-Range").empty() || asked.header("If-Range") == tag
                                  ? asked.header("Range")
                                  : "";
    sound = ranged(std::move(sound), range);
  }
  sound.headers.emplace_back("ETag", tag);
  sound.headers.emplace_back("Cache-Control", "private, max-age=3600");
  return sound;
}

Answer opinions(Board& board, const std::string& code, int status) {
  const Known known = known_play(board, code);
  json::Node out;
  board.read([&](Reader& reader) { out = opinions_node(reader, known.play); });
  return answer(out, status);
}

/// Where in the programme a moment of the capture lies: along the delay track that the analysis kept;
/// of plays heard before tracks were kept along the mean speed, which is out by the wow and the drift
/// of a side, far below the key's lateness.
std::optional<double> place_of(Board& board,
                               const Row& report,
                               const json::Node& portrait,
                               double capture_s) {
  if (board.sounds.why_no_cut(report).empty()) return board.sounds.programme_s(report, capture_s);
  const double start_s = number(member(portrait, "programme_start_s"));
  const double speed =
      1.0 + 1e-6 * number(member(member(portrait, "alignment"), "speed_error_ppm"));
  const double programme_s = (capture_s - start_s) * speed;
  return std::isfinite(programme_s) && programme_s >= 0.0 ? std::optional{programme_s}
                                                          : std::nullopt;
}

Answer add_opinion(Board& board, Asked& asked) {
  const std::string code = code_of(asked, "report");
  const Known known = known_play(board, code);
  const Body body{asked};
  line::Opinion opinion{.report = code,
                        .fault = body.maybe_number("fault"),
                        .opinion = body.text("opinion"),
                        .capture_s = body.maybe_real("capture_s"),
                        .what = body.text_or("what", ""),
                        .words = body.text_or("words", "")};
  constexpr std::array kinds{"", "tick", "pop", "burst", "dropout", "jump", "repeat", "clip"};
  if (std::ranges::find(kinds, opinion.what) == kinds.end())
    throw Stop{422, "what: give tick, pop, burst, dropout, jump, repeat or clip"};
  const json::Node portrait = portrait_node(board, known.report);
  if (opinion.fault && !capture_s_of(portrait, *opinion.fault))
    throw Stop{404, fmt::format("the report has no fault {}", *opinion.fault)};
  if (opinion.capture_s && *opinion.capture_s > number(member(portrait, "duration_s")))
    throw Stop{422, "capture_s: lies after the capture's end"};
  if (opinion.capture_s)
    opinion.programme_s = place_of(board, known.report, portrait, *opinion.capture_s);
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    or_stop(line::give_opinion(desk, opinion));
  });
  return opinions(board, code, 201);
}

Answer take_back_opinion(Board& board, Asked& asked) {
  const std::string report = code_of(asked, "report"), opinion = code_of(asked, "opinion");
  const Body body{asked};
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    or_stop(line::take_back_opinion(desk,
                                    report,
                                    opinion,
                                    body.text_or("reason", "the listener's second thoughts"),
                                    asked.session.may({Role::engineer})));
  });
  return opinions(board, report, 201);
}

Answer tickets(Board& board, Asked& asked) {
  const std::int64_t limit = asked.number("limit", 1, 200, 100);
  List list;
  std::int64_t total = 0;
  board.read([&](Reader& reader) {
    const auto all = board.standing.all_tickets();
    total = all.contains("waiting") ? all.at("waiting") : 0;
    for (const std::string& code : board.standing.waiting_tickets(limit)) {
      const Row row = need(reader, "ticket", code);
      const Row run = need(reader, "run", text(at(row, "run")));
      const std::string title = text(at(run, "title"));
      list.push_back(Object{{"ticket", row_node("ticket", row)},
                            {"title", title},
                            {"name", text(at(need(reader, "title", title), "name"))}});
    }
  });
  return answer(Object{{"tickets", std::move(list)}, {"total", total}});
}

Answer hear_by_ear(Board& board, Asked& asked) {
  const Body body{asked};
  line::Heard heard{.ticket = code_of(asked, "code"),
                    .good = body.truth("good"),
                    .words = body.text_or("words", ""),
                    .letter = body.text_or("letter", "")};
  Object out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    const auto verdict = or_stop(line::hear_sample(desk, heard));
    out = {
        {"entry", verdict.head.seq}, {"hash", verdict.head.hash}, {"released", verdict.released}};
  });
  return answer(out, 201);
}

}  // namespace

std::vector<Route> play_routes(Board& board) {
  const std::vector<Role> judges{Role::listener, Role::engineer};
  const auto by_report = [&board](const char* path, Answer (*run)(Board&, const std::string&)) {
    return Route{.method = "GET", .path = path, .run = [&board, run](Asked& asked) {
                   return run(board, code_of(asked, "report"));
                 }};
  };
  return {by_report("/api/plays/{report}", play),
          by_report("/api/plays/{report}/report", whole_report),
          by_report("/api/plays/{report}/portrait", portrait),
          {.method = "GET",
           .path = "/api/plays/{report}/picture",
           .run = [&](Asked& asked) { return picture(board, asked); }},
          {.method = "GET",
           .path = "/api/plays/{report}/audio",
           .own_tag = true,
           .run = [&](Asked& asked) { return audio(board, asked); }},
          {.method = "GET",
           .path = "/api/plays/{report}/opinions",
           .run = [&](Asked& asked) { return opinions(board, code_of(asked, "report"), 200); }},
          {.method = "POST",
           .path = "/api/plays/{report}/opinions",
           .roles = judges,
           .run = [&](Asked& asked) { return add_opinion(board, asked); }},
          {.method = "POST",
           .path = "/api/plays/{report}/opinions/{opinion}/undo",
           .roles = judges,
           .run = [&](Asked& asked) { return take_back_opinion(board, asked); }},
          {.method = "GET",
           .path = "/api/tickets",
           .run = [&](Asked& asked) { return tickets(board, asked); }},
          {.method = "POST",
           .path = "/api/tickets/{code}/hear",
           .roles = judges,
           .run = [&](Asked& asked) { return hear_by_ear(board, asked); }}};
}

}  // namespace goodside::serve
