#include "plan/plan_shop.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <chrono>
#include <filesystem>
#include <ostream>

#include "cli/commands.hpp"
#include "cli/listen_outputs.hpp"
#include "cli/plan_summary.hpp"
#include "cli/plan_words.hpp"
#include "cli/works_open.hpp"
#include "draw/shop_plot.hpp"
#include "intake/need_tables.hpp"
#include "intake/safe_file.hpp"
#include "intake/shop_changes.hpp"
#include "intake/shop_file.hpp"
#include "intake/works_folder.hpp"
#include "json/shop_plan.hpp"
#include "line/shop_of_record.hpp"
#include "plan/promise.hpp"
#include "units/read.hpp"

namespace goodside::cli {
namespace {

using Clock = std::chrono::steady_clock;

Result<std::int64_t> whole(std::string_view text, std::int64_t least, std::int64_t most) {
  std::int64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || value < least || value > most)
    return Error{
        Fault::bad_input,
        fmt::format("'{}' is no whole number from {} to {}", text.substr(0, 40), least, most)};
  return value;
}
Result<std::int64_t> rounds_of(std::string_view text) {
  return whole(text, 0, 100000);
}
Result<std::int64_t> replays_of(std::string_view text) {
  return whole(text, 1, 10'000'000);
}
Result<std::int64_t> seed_of(std::string_view text) {
  return whole(text, 0, 1'000'000'000);
}
Result<std::int64_t> jobs_of(std::string_view text) {
  return whole(text, 0, 1024);
}

/// The works' machines and routes from a file, its orders from the record.
Result<works::Shop> shop_of_works(const Args& args) {
  const auto folder = works_folder(args);
  if (!folder) {
    if (folder.error().fault != Fault::not_found || args.given("--in")) return folder.error();
    return Error{Fault::bad_input,
                 "nothing to plan: give --shop FILE.toml with the works and its orders, or a works "
                 "with --in DIR, whose record has them"};
  }
  const auto place = line::read_works_place(*folder);
  if (!place) return place.error();
  show_times_of(*place);
  const std::filesystem::path home{*folder};
  const std::string file =
      args.given("--shop") ? args.text("--shop") : (home / "shop.toml").string();
  if (!args.given("--shop") && !std::filesystem::exists(file))
    return Error{Fault::not_found,
                 file +
                     ": is not there; it tells stations, machines, hours, hands and routes, for "
                     "instance as demo/plan/shop.toml does (docs/schedule.md), or name it with "
                     "--shop"};
  auto shop = intake::read_shop(file, true);
  if (!shop) return shop.error();
  if (shop->name.empty()) shop->name = place->name;
  const auto figures = intake::read_need_figures((home / intake::works_file_name).string());
  if (!figures) return figures.error();
  auto record = ledger::Record::open(place->store, false);
  if (!record) return record.error();
  return line::shop_of_record(
      *record, std::move(*shop), {.now_ms = now_utc_ms(), .figures = *figures});
}

bool by_record(const Args& args) {
  return args.given("--in") || !args.given("--shop");
}

/// What both verbs ask: the works, how long to search, what is frozen.
struct Asked {
  works::Shop shop;
  works::ShopPlan earlier;
  plan::PlanOptions options;
  int jobs{};
};

Result<Asked> read_asked(const Args& args) {
  Asked asked;
  auto shop = by_record(args) ? shop_of_works(args) : intake::read_shop(args.text("--shop"));
  if (!shop) return shop.error();
  asked.shop = std::move(*shop);
  if (const auto changed = intake::change_shop(
          asked.shop,
          {.more = args.all("--more"), .due = args.all("--due"), .hours = args.all("--hours")});
      !changed)
    return changed.error();
  const auto rounds = args.read("--rounds", rounds_of);
  if (!rounds) return rounds.error();
  const auto seed = args.read("--seed", seed_of);
  if (!seed) return seed.error();
  const auto jobs = args.read("--jobs", jobs_of);
  if (!jobs) return jobs.error();
  const auto seconds = args.maybe("--for", units::duration_s);
  if (!seconds) return seconds.error();
  const auto frozen = args.read("--frozen", units::duration_s);
  if (!frozen) return frozen.error();
  asked.options.search.rounds = *rounds;
  // A quick answer is not held up by what only tells about it.
  asked.options.price_rounds = static_cast<int>(std::min<std::int64_t>(60, 10 * *rounds));
  if (*rounds < 2) {
    asked.options.one_more_of = 0;
    asked.options.proved_works = 0;
  }
  asked.options.search.seed = static_cast<std::uint64_t>(*seed);
  asked.options.search.jobs = static_cast<int>(*jobs);
  asked.jobs = static_cast<int>(*jobs);
  if (*seconds) {
    asked.options.search.rounds = 1'000'000;
    asked.options.price_rounds = 60;
    asked.options.one_more_of = 3;
    asked.options.proved_works = 80;
    const auto until = Clock::now() + std::chrono::duration<double>(**seconds);
    asked.options.search.go_on = [until](std::int64_t, const plan::PlanCost&) {
      return Clock::now() < until;
    };
  }
  if (args.given("--earlier")) {
    const auto text = intake::read_whole(args.text("--earlier"));
    if (!text) return text.error();
    auto earlier = json::read_shop_plan(*text);
    if (!earlier)
      return Error{earlier.error().fault, args.text("--earlier") + ": " + earlier.error().text};
    asked.earlier = std::move(*earlier);
    asked.options.freeze.frozen_s = static_cast<std::int64_t>(*frozen);
  }
  return asked;
}

Result<plan::PlannedShop> planned(Asked& asked, const Args& args) {
  if (args.given("--earlier")) asked.options.freeze.earlier = &asked.earlier;
  return plan::plan_shop(asked.shop, asked.options);
}

int finish(const Args& args,
           Console& console,
           const std::string& json,
           const std::string& summary,
           bool late) {
  const std::string& path = args.text("--json");
  if (args.given("--json") && path != "-")
    if (const auto saved = intake::write_whole(path, json); !saved)
      return console.refuse(saved.error());
  console.out() << (path == "-" ? json : summary);
  return static_cast<int>(late ? Exit::outside_limits : Exit::within_limits);
}

template <class Subject, class Drawer>
Outcome paint(const Args& args, const Subject& subject, const Drawer& drawer) {
  if (!args.given("--picture")) return Done{};
  const auto format = picture_format(args.text("--picture"));
  if (!format) return format.error();
  draw::PlotOptions options;
  options.format = *format;
  const auto picture = drawer(subject, options);
  if (!picture) return picture.error();
  return intake::write_whole(args.text("--picture"), *picture);
}

int run_schedule(const Args& args, Console& console) {
  if (args.given("--picture"))
    if (const auto format = picture_format(args.text("--picture")); !format)
      return console.refuse(format.error());
  auto asked = read_asked(args);
  if (!asked) return console.refuse(asked.error());
  const auto made = planned(*asked, args);
  if (!made) return console.refuse(made.error());
  if (const auto painted = paint(args, made->plan, draw::shop_plan_plot); !painted)
    return console.refuse(painted.error());
  return finish(
      args, console, json::write(made->plan), plan_summary(made->plan), made->plan.plan.late > 0.0);
}

/// Where the law of stampers' lives comes from; it is put into the shop, for titles without one of their own.
Result<std::string> learn_lives(const Args& args, works::Shop& shop) {
  const bool asked =
      args.given("--life-scale") || args.given("--life-shape") || args.given("--lives");
  if (!asked && !by_record(args)) return std::string{};
  const auto life = given_life(args);
  if (!life) {
    // A works none of whose stampers has ended yet has nothing to learn from.
    if (asked || life.error().fault != Fault::bad_input) return life.error();
    return "not reckoned with, save where a title tells its own: " + life.error().text;
  }
  for (const auto& one : life->belief)
    shop.lives.push_back({.weight = one.weight,
                          .shape = one.law.causes.front().shape,
                          .closings = one.law.causes.front().scale_closings,
                          .pull_closings = one.law.pull_closings.value_or(0.0)});
  return life->whose;
}

int run_promise(const Args& args, Console& console) {
  if (args.given("--picture"))
    if (const auto format = picture_format(args.text("--picture")); !format)
      return console.refuse(format.error());
  const auto replays = args.read("--replays", replays_of);
  if (!replays) return console.refuse(replays.error());
  auto asked = read_asked(args);
  if (!asked) return console.refuse(asked.error());
  const auto lives = learn_lives(args, asked->shop);
  if (!lives) return console.refuse(lives.error());
  asked->options.one_more_of = 0;
  asked->options.price_rounds = 0;
  asked->options.proved_works = 0;
  const auto made = planned(*asked, args);
  if (!made) return console.refuse(made.error());
  auto promised =
      plan::promise(asked->shop,
                    *made,
                    {.replays = *replays, .seed = asked->options.search.seed, .jobs = asked->jobs});
  promised.lives = *lives;
  if (const auto painted = paint(args, promised, draw::promise_plot); !painted)
    return console.refuse(painted.error());
  const bool likely = std::all_of(promised.orders.begin(),
                                  promised.orders.end(),
                                  [](const auto& one) { return one.ninety_s <= one.due_s; });
  return finish(args, console, json::write(promised), promise_summary(promised), !likely);
}

std::vector<Option> with_shop_options(std::vector<Option> own) {
  std::vector<Option> all{
      {.name = "--shop",
       .value = "FILE.toml",
       .help = "What the works has, and has to do: docs/schedule.md. With a record its shop.toml, "
               "which "
               "needs no orders."},
      {.name = "--in",
       .value = "DIR",
       .help = "The works whose record has the orders, the parts in hand and the runs under way; "
               "without --shop the nearest above."},
      {.name = "--rounds",
       .value = "N",
       .help = "Rounds of bettering the first plan; 0: the rule's alone.",
       .fallback = "8"},
      {.name = "--for", .value = "TIME", .help = "Better the plan for so long instead: \"2 min\"."},
      {.name = "--earlier",
       .value = "PLAN.json",
       .help = "Plan anew from now; what is frozen of that plan stays."},
      {.name = "--frozen",
       .value = "TIME",
       .help = "With --earlier: what begins within it may not be moved.",
       .fallback = "24 h"},
      {.name = "--more",
       .value = "WHAT=N",
       .help = "What if there were N more of a station's machines, or of hands: press=1.",
       .many = true},
      {.name = "--due",
       .value = "ORDER=TIME",
       .help = "What if an order were due then: \"O-2=2026-12-16 14:00\".",
       .many = true},
      {.name = "--hours",
       .value = "WHAT=SHIFTS",
       .help = "What if a station, machine or hand worked then: \"press=mon-sat 06:00-22:00\", one "
               "of the works' own hours, or always.",
       .many = true},
      {.name = "--seed", .value = "N", .help = "Of what is drawn by chance.", .fallback = "1"},
      {.name = "--jobs",
       .value = "N",
       .help = "Threads; 0: one a core. Changes no answer.",
       .fallback = "0"},
      {.name = "--json", .value = "FILE", .help = "The whole result; - for standard output."}};
  all.insert(all.end(), own.begin(), own.end());
  return all;
}

std::vector<Option> with_life_options(std::vector<Option> own) {
  std::vector<Option> all = life_options();
  all.insert(all.end(), own.begin(), own.end());
  return all;
}

}  // namespace

std::vector<Command> plan_shop_commands() {
  return {
      {.name = "plan schedule",
       .help = "Who does what when, so that the orders are least late; what holds them up.",
       .example = "goodside plan schedule --shop demo/plan/works.toml --picture plan.png\n\n"
                  "all 4 orders on time; the tightest is O-2 with 51.0 h to spare\n…",
       .options = with_shop_options(
           {{.name = "--picture", .value = "FILE", .help = "Draw the plan: .png, .svg, .pdf."}}),
       .run = run_schedule},
      {.name = "plan promise",
       .help = "The plan played many times: what date to promise, and what makes it late.",
       .example = "goodside plan promise --shop demo/plan/works.toml --replays 5000\n\n"
                  "every order on time in 73 % of 5000 replays (72 to 74 %)\n…",
       .options = with_shop_options(with_life_options(
           {{.name = "--replays",
             .value = "N",
             .help = "How often to play it.",
             .fallback = "2000"},
            {.name = "--picture", .value = "FILE", .help = "Draw the dates: .png, .svg, .pdf."}})),
       .run = run_promise}};
}

}  // namespace goodside::cli
