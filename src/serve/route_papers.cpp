#include <fmt/format.h>

#include <array>
#include <mutex>

#include "draw/label.hpp"
#include "draw/paper.hpp"
#include "line/close_units.hpp"
#include "line/instants.hpp"
#include "line/plan_packing.hpp"
#include "line/works_papers.hpp"
#include "serve/by_hand.hpp"

// Papers and labels on a touch: the same sheets that `goodside pack paper` and `pack label` print.

namespace goodside::serve {
namespace {

draw::PictureFormat format_of(const Asked& asked) {
  const std::string name = asked.asked_for("format").value_or("pdf");
  if (name == "pdf") return draw::PictureFormat::pdf;
  if (name == "svg") return draw::PictureFormat::svg;
  if (name == "png") return draw::PictureFormat::png;
  throw Stop{400, "format: give pdf, svg or png"};
}

Answer sheet(const Asked& asked,
             const draw::DrawnPaper& drawn,
             draw::PictureFormat format,
             const std::string& name) {
  const auto sheets = static_cast<std::int64_t>(drawn.files.size());
  const auto which = static_cast<std::size_t>(asked.number("sheet", 1, sheets, 1) - 1);
  const char* const ending = format == draw::PictureFormat::svg   ? "svg"
                             : format == draw::PictureFormat::png ? "png"
                                                                  : "pdf";
  Answer out{.type = format == draw::PictureFormat::svg   ? "image/svg+xml"
                     : format == draw::PictureFormat::png ? "image/png"
                                                          : "application/pdf",
             .body = drawn.files.at(which)};
  out.headers.emplace_back("Content-Disposition",
                           fmt::format("inline; filename=\"{}.{}\"", name, ending));
  return out;
}

/// One after the other: cairo and fonts take a core for a while.
std::mutex& one_at_a_time() {
  static std::mutex guard;
  return guard;
}

Answer paper(Board& board, Asked& asked) {
  const auto kind = or_stop(line::read_paper_kind(asked.part("kind")));
  const std::string code = code_of(asked, "code");
  const auto format = format_of(asked);
  const auto size = or_stop(draw::read_paper(asked.asked_for("paper").value_or("a4")));
  const auto rules = or_stop(line::dispatch_rules(board.place.folder));
  std::optional<Result<draw::PaperText>> text;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    text = line::works_paper(desk.record,
                             {.kind = kind,
                              .code = code,
                              .folder = board.place.folder,
                              .works = board.place.name,
                              .address = rules.address,
                              .date = line::shown_instant(desk.now_ms)});
  });
  const auto whole = or_stop(std::move(*text));
  const std::lock_guard lock{one_at_a_time()};
  return sheet(asked,
               or_stop(draw::draw_paper(whole, format, size)),
               format,
               fmt::format("{}-{}", asked.part("kind"), code));
}

Answer label(Board& board, Asked& asked) {
  const auto format = format_of(asked);
  const auto size = or_stop(draw::read_paper(asked.asked_for("paper").value_or("a6")));
  std::string code;
  std::vector<draw::UnitLabel> labels;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    code = or_stop(line::unit_of(desk.record, asked.part("unit")));
    labels = or_stop(line::works_labels(desk.record, {code}, board.place.name));
  });
  const std::lock_guard lock{one_at_a_time()};
  return sheet(asked, or_stop(draw::draw_labels(labels, format, size)), format, "label-" + code);
}

}  // namespace

std::vector<Route> paper_routes(Board& board) {
  return {{.method = "GET",
           .path = "/api/papers/{kind}/{code}",
           .run = [&](Asked& asked) { return paper(board, asked); }},
          {.method = "GET", .path = "/api/labels/{unit}", .run = [&](Asked& asked) {
             return label(board, asked);
           }}};
}

}  // namespace goodside::serve
