#include "cli/works_open.hpp"

#include <fmt/format.h>

#include <chrono>
#include <csignal>
#include <cstdlib>
#include <ctime>
#include <ostream>

#include "intake/safe_file.hpp"
#include "intake/works_folder.hpp"
#include "line/read_fields.hpp"
#include "units/number.hpp"
#include "works/code.hpp"

namespace goodside::cli {
namespace {

std::optional<std::string> environment(const char* name) {
  const char* value = std::getenv(name);
  return value == nullptr ? std::nullopt : std::optional<std::string>{value};
}

Result<std::string> folder_by(const Args& args, const std::string& option) {
  auto found = intake::find_works_folder(
      {.asked_for = args.given(option) ? std::optional{args.text(option)} : std::nullopt,
       .environment = environment("GOODSIDE_DIR")});
  if (!found) return found.error();
  if (*found) return std::move(**found);
  return Error{
      Fault::not_found,
      fmt::format("no works folder here or above; make one with `goodside works init DIR`, or name "
                  "one with {} DIR",
                  option)};
}

}  // namespace

std::vector<Option> with_works_options(std::vector<Option> own) {
  own.push_back(
      {.name = "--in", .value = "DIR", .help = "The works folder; without it the nearest above."});
  own.push_back(
      {.name = "--by", .value = "NAME", .help = "Who enters this; without it your user name."});
  own.push_back({.name = "--json",
                 .value = "FILE",
                 .help = "The whole answer as JSON; - for standard output."});
  return own;
}

Result<std::string> works_folder(const Args& args) {
  return folder_by(args, "--in");
}

Result<std::string> served_folder(const Args& args) {
  return folder_by(args, "--works");
}

std::string writer_name(const Args& args) {
  if (args.given("--by")) return args.text("--by");
  for (const char* name : {"USER", "LOGNAME"})
    if (const auto user = environment(name); user && !user->empty()) return *user;
  return "unknown";
}

std::int64_t now_utc_ms() {
  using namespace std::chrono;
  return duration_cast<milliseconds>(system_clock::now().time_since_epoch()).count();
}

void show_times_of(const line::WorksPlace& place) {
  setenv("TZ", place.zone.c_str(), 1);
  tzset();
}

int in_works(const Args& args, Console& console, const std::function<int(OpenWorks&)>& act) {
  std::signal(SIGXFSZ, SIG_IGN);  // a full disk is told in a sentence, not by a signal
  const auto folder = works_folder(args);
  if (!folder) return console.refuse(folder.error());
  auto place = line::read_works_place(*folder);
  if (!place) return console.refuse(place.error());
  const std::string who = writer_name(args);
  if (const auto fit = line::fit_text(who); !fit || who.find('\n') != std::string::npos)
    return console.refuse({Fault::bad_input, "--by: give a name in one line"});
  show_times_of(*place);
  auto record = ledger::Record::open(place->store, false);
  if (!record) return console.refuse(record.error());
  OpenWorks works{std::move(*place), {*record, who, now_utc_ms()}};
  return act(works);
}

int answer(const Args& args,
           Console& console,
           const std::string& text,
           const json::Node& node,
           Exit exit) {
  const bool instead = args.given("--json") && args.text("--json") == "-";
  if (instead)
    console.out() << json::lay_out(node);
  else
    console.out() << text;
  if (args.given("--json") && !instead)
    if (const auto written = intake::write_whole(args.text("--json"), json::lay_out(node));
        !written)
      return console.refuse(written.error());
  return static_cast<int>(exit);
}

std::string noted(const ledger::Head& head) {
  return fmt::format("Entry {}, head {}.\n", head.seq, head.hash.substr(0, 16));
}

Result<std::string> code_text(std::string_view text) {
  return works::read_code(text);
}

Result<std::int64_t> count_number(std::string_view text) {
  std::int64_t value = 0;
  for (const char digit : text) {
    if (digit < '0' || digit > '9' || value > 99'999'999'999) {
      value = -1;
      break;
    }
    value = 10 * value + (digit - '0');
  }
  if (value >= 0 && !text.empty()) return value;
  return Error{Fault::bad_input,
               fmt::format("\"{}\" is no whole number from 0 up", text.substr(0, 40))};
}

Result<works::Impressions> impression_range(std::string_view text) {
  auto dash = text.find('-');
  std::size_t width = 1;
  if (const auto en = text.find("–"); en != std::string_view::npos) {
    dash = en;
    width = std::string_view{"–"}.size();
  }
  const auto first = count_number(units::trimmed(text.substr(0, dash)));
  const auto last = dash == std::string_view::npos
                        ? first
                        : count_number(units::trimmed(text.substr(dash + width)));
  if (first && last && *first >= 1 && *last >= *first) return works::Impressions{*first, *last};
  return Error{Fault::bad_input,
               fmt::format("\"{}\" is no range of impressions; give one such as 412-600, or 412",
                           text.substr(0, 40))};
}

}  // namespace goodside::cli
