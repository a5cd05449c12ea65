#include <fmt/format.h>

#include "cli/commands.hpp"
#include "cli/works_open.hpp"
#include "line/instants.hpp"
#include "line/press_discs.hpp"
#include "line/read_fields.hpp"

namespace goodside::cli {
namespace {

constexpr const char* press_caution =
    "Caution: steam, pressure and closing platens hurt and kill; guards and two-hand\n"
    "controls stay on. Follow your local code and your licensed adviser.\n";

/// Reads options one after the other and keeps the first complaint.
class Asked {
 public:
  explicit Asked(const Args& args) : args_{args} {}
  std::string code(const char* name) {
    return args_.given(name) ? take(args_.read(name, code_text)) : std::string{};
  }
  std::int64_t count(const char* name) { return take(args_.read(name, count_number)); }
  std::optional<std::int64_t> maybe_count(const char* name) {
    return take(args_.maybe(name, count_number));
  }
  std::optional<std::int64_t> when() { return take(args_.maybe("--at", line::read_instant)); }
  std::string words(const char* name) {
    const std::string& text = args_.text(name);
    if (const auto fit = line::fit_text(text); !fit) note(fit.error());
    return text;
  }
  void note(const Error& error) {
    if (!failed) failed = error;
  }
  std::optional<Error> failed;

 private:
  template <class T>
  T take(Result<T> result) {
    if (result) return std::move(*result);
    note(result.error());
    return T{};
  }
  const Args& args_;
};

int run_mount(const Args& args, Console& console) {
  Asked asked{args};
  const line::Mount wanted{.press = asked.code("press"),
                           .stamper_a = asked.code("--a"),
                           .stamper_b = asked.code("--b"),
                           .counter = asked.count("--counter"),
                           .reason = asked.words("--reason"),
                           .at_ms = asked.when()};
  if (asked.failed) return console.refuse(*asked.failed);
  return in_works(args, console, [&](OpenWorks& works) {
    const auto entered = line::mount(works.desk, wanted);
    if (!entered) return console.refuse(entered.error());
    return answer(
        args,
        console,
        fmt::format("mounting {} on {}\n{}{}",
                    entered->code,
                    wanted.press,
                    noted(entered->head),
                    press_caution),
        json::Node::Object{{"mounting", entered->code}, {"head", as_node(entered->head)}});
  });
}

int run_unmount(const Args& args, Console& console) {
  Asked asked{args};
  const line::Unmount wanted{.mounting = asked.code("mounting"),
                             .counter = asked.count("--counter"),
                             .reason = asked.words("--reason"),
                             .at_ms = asked.when()};
  if (asked.failed) return console.refuse(*asked.failed);
  return in_works(args, console, [&](OpenWorks& works) {
    const auto entered = line::unmount(works.desk, wanted);
    if (!entered) return console.refuse(entered.error());
    return answer(
        args,
        console,
        fmt::format("{} is off; its stampers rest\n{}", wanted.mounting, noted(entered->head)),
        json::Node::Object{{"mounting", wanted.mounting}, {"head", as_node(entered->head)}});
  });
}

int run_press(const Args& args, Console& console) {
  Asked asked{args};
  if (args.given("--warm-up") && args.given("--purge"))
    return console.refuse({Fault::bad_input, "give --warm-up or --purge, not both"});
  const line::Pressing wanted{.run = asked.code("run"),
                              .quantity = asked.count("quantity"),
                              .from_impression = asked.maybe_count("--from"),
                              .purpose = args.given("--warm-up") ? line::Purpose::warm_up
                                         : args.given("--purge") ? line::Purpose::purge
                                                                 : line::Purpose::run,
                              .counter = asked.maybe_count("--counter"),
                              .batch = asked.code("--batch"),
                              .recipe = asked.code("--recipe"),
                              .spindle = asked.code("--spindle"),
                              .at_ms = asked.when()};
  if (asked.failed) return console.refuse(*asked.failed);
  return in_works(args, console, [&](OpenWorks& works) {
    const auto pressed = line::press_discs(works.desk, wanted);
    if (!pressed) return console.refuse(pressed.error());
    return answer(args,
                  console,
                  fmt::format("{} {}: impressions {}–{} of {}{}\n{}",
                              pressed->entered.code,
                              word(wanted.purpose == line::Purpose::run ? works::Place::pressed
                                                                        : works::Place::scrap),
                              pressed->first,
                              pressed->last,
                              wanted.run,
                              wanted.purpose == line::Purpose::warm_up ? " (warm up)"
                              : wanted.purpose == line::Purpose::purge ? " (purge)"
                                                                       : "",
                              noted(pressed->entered.head)),
                  json::Node::Object{{"pressing", pressed->entered.code},
                                     {"run", wanted.run},
                                     {"first", pressed->first},
                                     {"last", pressed->last},
                                     {"head", as_node(pressed->entered.head)}});
  });
}

int run_approve(const Args& args, Console& console) {
  Asked asked{args};
  const line::Approval wanted{.order = asked.code("order"),
                              .decision = args.text("decision"),
                              .words = asked.words("--words"),
                              .ticket = asked.code("--ticket"),
                              .report = asked.code("--report"),
                              .at_ms = asked.when()};
  if (asked.failed) return console.refuse(*asked.failed);
  return in_works(args, console, [&](OpenWorks& works) {
    const auto entered = line::enter_approval(works.desk, wanted);
    if (!entered) return console.refuse(entered.error());
    return answer(args,
                  console,
                  fmt::format("{}: the test pressing of {} is {}\n{}",
                              entered->code,
                              wanted.order,
                              wanted.decision,
                              noted(entered->head)),
                  json::Node::Object{{"approval", entered->code},
                                     {"order", wanted.order},
                                     {"decision", wanted.decision},
                                     {"head", as_node(entered->head)}});
  });
}

Option at_option() {
  return {.name = "--at", .value = "WHEN", .help = "When it was; without it now."};
}

}  // namespace

std::vector<Command> works_press_commands() {
  return {
      {.name = "works mount",
       .help = "A stamper pair goes on a press: a new mounting begins.",
       .example = "goodside works mount PR-01-3 --a P-00004-K --b P-00008-C --counter "
                  "18200\n\nmounting M-00001-X on PR-01-3",
       .options = with_works_options(
           {{.name = "press", .value = "PRESS", .help = "Its code.", .required = true},
            {.name = "--a", .value = "STAMPER", .help = "On side A."},
            {.name = "--b", .value = "STAMPER", .help = "On side B."},
            {.name = "--counter",
             .value = "N",
             .help = "The press counter's reading.",
             .required = true},
            {.name = "--reason", .value = "TEXT", .help = "New order, cleaned, remounted …"},
            at_option()}),
       .run = run_mount},
      {.name = "works unmount",
       .help = "A mounting ends: its stampers rest.",
       .example = "goodside works unmount M-00001-X --counter 18950 --reason cleaning\n\nM-00001-X "
                  "is off; its stampers rest",
       .options = with_works_options(
           {{.name = "mounting", .value = "MOUNTING", .help = "Its code.", .required = true},
            {.name = "--counter",
             .value = "N",
             .help = "The press counter's reading.",
             .required = true},
            {.name = "--reason", .value = "TEXT", .help = "Why it ends."},
            at_option()}),
       .run = run_unmount},
      {.name = "works press",
       .help = "So many impressions of a run were made.",
       .example = "goodside works press R-00001-9 250 --batch B-0001-G --counter "
                  "18460\n\nI-000002-N pressed: impressions 1–250 of R-00001-9",
       .options = with_works_options(
           {{.name = "run", .value = "RUN", .help = "Its code.", .required = true},
            {.name = "quantity", .value = "N", .help = "Closings of the press.", .required = true},
            {.name = "--from",
             .value = "N",
             .help = "The run's impression that comes next, to claim just these."},
            {.name = "--counter",
             .value = "N",
             .help = "The press counter after the last of them."},
            {.name = "--batch", .value = "BATCH", .help = "Of compound."},
            {.name = "--recipe", .value = "RECIPE", .help = "The cycle; without it the run's."},
            {.name = "--spindle", .value = "SPINDLE", .help = "Where the discs rest."},
            {.name = "--warm-up", .help = "Discs of warming up: scrap, but they age the stampers."},
            {.name = "--purge", .help = "Discs of changing compound, likewise."},
            at_option()}),
       .run = run_press},
      {.name = "works approve",
       .help = "What became of an order's test pressings.",
       .example = "goodside works approve O-0001-7 approved --ticket S-000001-3 --words "
                  "\"go\"\n\nA-0001-B: the test pressing of O-0001-7 is approved",
       .options = with_works_options(
           {{.name = "order", .value = "ORDER", .help = "Its code.", .required = true},
            {.name = "decision",
             .value = "DECISION",
             .help = "sent, approved, refused or waived.",
             .required = true},
            {.name = "--ticket", .value = "TICKET", .help = "The disc that was sent or heard."},
            {.name = "--report",
             .value = "REPORT",
             .help = "Its listening report: the standard for the run."},
            {.name = "--words",
             .value = "TEXT",
             .help = "What the customer said, or who waives the test and why."},
            at_option()}),
       .run = run_approve},
  };
}

}  // namespace goodside::cli
