#include <fmt/format.h>

#include <algorithm>
#include <ostream>

#include "cli/commands.hpp"
#include "cli/progress_bar.hpp"
#include "cli/stop.hpp"
#include "cli/summary.hpp"
#include "cli/wrap.hpp"
#include "draw/words.hpp"
#include "line/demo_works.hpp"
#include "listen/listen.hpp"
#include "units/number.hpp"

namespace goodside::cli {
namespace {

Result<int> cores(std::string_view text) {
  const auto number = units::leading_number(units::trimmed(text));
  if (number && number->rest.empty())
    for (int count = 1; count <= 256; ++count)
      if (number->value == count) return count;
  return Error{Fault::bad_input,
               fmt::format("\"{}\" is not a number of cores, 1 to 256; for instance 2", text)};
}

std::string heard_faults(const works::ListeningReport& report) {
  const auto plain = std::count_if(report.faults.begin(), report.faults.end(), [](const auto& f) {
    return f.audibility == works::Audibility::plain;
  });
  const auto slight = static_cast<std::ptrdiff_t>(report.faults.size()) - plain;
  return fmt::format("{} plain, {} slight fault{}", plain, slight, slight == 1 ? "" : "s");
}

std::string why(const works::ListeningReport& report) {
  if (draw::standing(report) == draw::Standing::not_this_cut)
    return "it does not follow the cut anywhere";
  std::string text = heard_faults(report);
  if (report.wow.eccentricity_m)
    text += fmt::format("; hole {:.2f} mm off centre", *report.wow.eccentricity_m * 1e3);
  for (const works::Reason& reason : report.verdict.reasons) text += "; " + reason.text;
  return text;
}

void paragraph(std::string_view head, const std::string& text, std::ostream& out) {
  constexpr std::size_t indent = 4;
  std::string before = std::string(indent, ' ').append(head);
  for (const std::string& line : wrapped(text, line_width - before.size())) {
    out << before << line << '\n';
    before.assign(before.size(), ' ');
  }
}

void explain(const line::HeardDemoDisc& heard, std::ostream& out) {
  const std::string verdict{draw::word(draw::standing(heard.report))};
  out << fmt::format("{:<20} {:<16} {}\n",
                     heard.disc.name,
                     verdict,
                     heard.as_it_should_be() ? "as it should be" : "NOT as it should be");
  paragraph("made:  ", heard.disc.made, out);
  paragraph("heard: ", why(heard.report), out);
  if (!heard.truth.faults.empty())
    paragraph("found: ",
              fmt::format("{} of the {} faults put in", heard.found(), heard.truth.faults.size()),
              out);
}

std::string next_line(const line::DemoWorks& works, const std::string& folder) {
  const line::DemoDisc& disc = works.discs[1].disc;
  return fmt::format(
      "Portraits: {0}/portraits, pages to read and hear: {0}/pages. Hear one yourself:\n"
      "  goodside listen {1} \\\n"
      "    --reference {2} \\\n"
      "    --format {3} --pitch {4:g}mm --arm-length {5:g}mm --arm-mount {6:g}mm\n",
      folder,
      disc.capture,
      works.cut,
      works.side.format,
      works.side.pitch_m * 1e3,
      works.bench.arm.effective_length_m * 1e3,
      works.bench.arm.mounting_distance_m * 1e3);
}

int run_demo(const Args& args, Console& console) {
  const auto jobs = args.maybe("--jobs", cores);
  if (!jobs) return console.refuse(jobs.error());
  const std::string& folder = args.text("--out");
  const StopWatch stop_watch;
  const auto works = [&] {
    ProgressBar bar{console.err(), console.progress(), "the demo works"};
    return line::make_demo_works(
        folder, jobs->value_or(0), listen::listen, [&](const std::string&, double share) {
          bar.show(share);
          return !StopWatch::asked();
        });
  }();
  if (!works) return console.refuse(works.error());

  console.out() << fmt::format(
      "Tarnholt, a works that never was: five discs of one single, in {}\n\n", folder);
  for (const line::HeardDemoDisc& heard : works->discs) explain(heard, console.out());
  const auto right = std::count_if(works->discs.begin(), works->discs.end(), [](const auto& heard) {
    return heard.as_it_should_be();
  });
  console.out() << fmt::format(
                       "\n{} of {} verdicts are as they should be.\n", right, works->discs.size())
                << next_line(*works, folder);
  return static_cast<int>(right == static_cast<std::ptrdiff_t>(works->discs.size())
                              ? Exit::within_limits
                              : Exit::outside_limits);
}

}  // namespace

Command demo_command() {
  return {.name = "demo",
          .help = "Makes the demo works: five pressed discs, heard and explained.",
          .example = R"(goodside demo --out tarnholt

disc-2-scratched     Outside limits   as it should be
    made:  two ticks, a pop, and a radial scratch over nine turns
    heard: ...
Exit status 0 when every verdict is as it should be, 1 when one is not.)",
          .options = {{.name = "--out",
                       .value = "DIR",
                       .help = "Folder for cuts, captures, truths, reports, portraits, pages.",
                       .fallback = "./tarnholt"},
                      {.name = "--jobs", .value = "N", .help = "Cores to use; without it all."}},
          .run = run_demo};
}

}  // namespace goodside::cli
