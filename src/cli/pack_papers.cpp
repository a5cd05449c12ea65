#include <fmt/format.h>

#include <filesystem>

#include "cli/commands.hpp"
#include "cli/listen_outputs.hpp"
#include "cli/works_open.hpp"
#include "intake/safe_file.hpp"
#include "line/close_units.hpp"
#include "line/instants.hpp"
#include "line/plan_packing.hpp"
#include "line/read_fields.hpp"
#include "line/works_papers.hpp"

namespace goodside::cli {
namespace {

struct Target {
  std::string path;
  draw::PictureFormat format{};
  draw::Paper paper;
};

/// `--out FILE` and `--paper SIZE`. Without a file: papers/KIND-CODE.pdf in the works folder.
Result<Target> read_target(const Args& args, const std::string& otherwise) {
  Target target{
      .path = args.given("--out") ? args.text("--out") : otherwise, .format = {}, .paper = {}};
  const auto format = picture_format(target.path);
  if (!format) return Error{format.error().fault, "--out: " + format.error().text};
  const auto paper = args.read("--paper", draw::read_paper);
  if (!paper) return paper.error();
  target.format = *format;
  target.paper = *paper;
  return target;
}

/// PNG and SVG: a file a sheet, `x.png`, `x-2.png` …; nothing is written before all is drawn.
int write_all(const Args& args,
              Console& console,
              const Target& target,
              const Result<draw::DrawnPaper>& drawn) {
  if (!drawn) return console.refuse(drawn.error());
  std::string text;
  json::Node::List files;
  for (std::size_t i = 0; i < drawn->files.size(); ++i) {
    std::filesystem::path path{target.path};
    if (i > 0) {
      const std::string ending = path.extension().string();
      path = path.replace_extension().string() + fmt::format("-{}", i + 1) + ending;
    }
    if (const auto written = intake::write_whole(path.string(), drawn->files[i]); !written)
      return console.refuse(written.error());
    if (i < 6) text += path.string() + "\n";
    files.emplace_back(path.string());
  }
  if (files.size() > 6) text += fmt::format("… and {} more\n", files.size() - 6);
  text += fmt::format("{} sheet{}, {:.0f} x {:.0f} mm: print at 100 %, not fitted to the page\n",
                      drawn->sheets.size(),
                      drawn->sheets.size() == 1 ? "" : "s",
                      target.paper.width_mm,
                      target.paper.height_mm);
  return answer(args,
                console,
                text,
                json::Node::Object{{"files", std::move(files)},
                                   {"sheets", static_cast<std::int64_t>(drawn->sheets.size())}});
}

std::string paper_path(const OpenWorks& works, const std::string& name) {
  return (std::filesystem::path{works.place.folder} / "papers" / (name + ".pdf")).string();
}

int run_paper(const Args& args, Console& console) {
  const auto kind = args.read("kind", line::read_paper_kind);
  if (!kind) return console.refuse(kind.error());
  const auto code = args.read("code", code_text);
  if (!code) return console.refuse(code.error());
  if (const auto fit = line::fit_text(args.text("--plan")); !fit)
    return console.refuse(fit.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto target = read_target(args, paper_path(works, args.text("kind") + "-" + *code));
    if (!target) return console.refuse(target.error());
    const auto rules = line::dispatch_rules(works.place.folder);
    if (!rules) return console.refuse(rules.error());
    const auto paper =
        line::works_paper(works.desk.record,
                          {.kind = *kind,
                           .code = *code,
                           .plan = args.text("--plan"),
                           .folder = works.place.folder,
                           .works = works.place.name,
                           .address = rules->address,
                           .date = args.given("--date") ? args.text("--date")
                                                        : line::shown_instant(works.desk.now_ms)});
    if (!paper) return console.refuse(paper.error());
    return write_all(
        args, console, *target, draw::draw_paper(*paper, target->format, target->paper));
  });
}

int run_label(const Args& args, Console& console) {
  return in_works(args, console, [&](OpenWorks& works) {
    std::vector<std::string> codes;
    for (const std::string& typed : args.all("units")) {
      auto code = line::unit_of(works.desk.record, typed);
      if (!code) return console.refuse(code.error());
      codes.push_back(std::move(*code));
    }
    const auto target = read_target(args, paper_path(works, "label-" + codes.front()));
    if (!target) return console.refuse(target.error());
    const auto labels = line::works_labels(works.desk.record, codes, works.place.name);
    if (!labels) return console.refuse(labels.error());
    return write_all(
        args, console, *target, draw::draw_labels(*labels, target->format, target->paper));
  });
}

Option out_option() {
  return {.name = "--out",
          .value = "FILE",
          .help = "PDF, SVG or PNG by its ending; without it a PDF in papers/."};
}

}  // namespace

std::vector<Command> pack_paper_commands() {
  return {
      {.name = "pack paper",
       .help = "Prints a paper: traveller, weigh-up, label-proof, packing-list …",
       .example = "goodside pack paper packing-list SH-0001-U --paper letter --out "
                  "list.pdf\n\nlist.pdf\n2 sheets, "
                  "216 x 279 mm: print at 100 %, not fitted to the page",
       .options = with_works_options(
           {{.name = "kind",
             .value = "KIND",
             .help =
                 "traveller (part, run), weigh-up (batch), label-proof (title), packing-list and "
                 "consignment-note (shipment), certificate (order, shipment).",
             .required = true},
            {.name = "code", .value = "CODE", .help = "Of what it is about.", .required = true},
            {.name = "--paper",
             .value = "SIZE",
             .help = "a4, letter, a5 or 210x297mm.",
             .fallback = "a4"},
            out_option(),
            {.name = "--plan",
             .value = "TEXT",
             .help = "Certificate: how the sample was to be drawn."},
            {.name = "--date",
             .value = "TEXT",
             .help = "As it is to stand there; without it now."}}),
       .run = run_paper},
      {.name = "pack label",
       .help = "Labels of cartons, pallets, whole shipments and sample tickets.",
       .example = "goodside pack label K-000001-S --paper a6 --out label.png\n\nlabel.png\n1 "
                  "sheet, 105 x 148 mm: "
                  "print at 100 %, not fitted to the page",
       .options = with_works_options({{.name = "units",
                                       .value = "CODE",
                                       .help = "Cartons, pallets, shipments, tickets.",
                                       .required = true,
                                       .many = true},
                                      {.name = "--paper",
                                       .value = "SIZE",
                                       .help = "a6, 4x6in, 62x100, or 105x148mm.",
                                       .fallback = "a6"},
                                      out_option()}),
       .run = run_label},
  };
}

}  // namespace goodside::cli
