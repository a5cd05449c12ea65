#pragma once
#include <functional>
#include <string>
#include <vector>

#include "cli/command.hpp"
#include "json/node.hpp"
#include "line/desk.hpp"
#include "line/record_nodes.hpp"
#include "line/works_place.hpp"

namespace goodside::cli {

/// A works' record as a subcommand of `works` finds it.
struct OpenWorks {
  line::WorksPlace place;
  line::Desk desk;
};

/// --in, --by and --json, which every subcommand of `works` has, before its own.
std::vector<Option> with_works_options(std::vector<Option> own);

/// --in, GOODSIDE_DIR, or the nearest from the current folder upwards.
Result<std::string> works_folder(const Args& args);
/// The same, where it is called --works.
Result<std::string> served_folder(const Args& args);
/// From now on times are shown on the works' own clock.
void show_times_of(const line::WorksPlace& place);
/// Finds the works folder, opens its record, sets the zone in which times are shown, and calls
/// `act`. Refuses what cannot be found.
int in_works(const Args& args, Console& console, const std::function<int(OpenWorks&)>& act);

/// The name of whoever writes: --by, or the system's name for the user.
std::string writer_name(const Args& args);
std::int64_t now_utc_ms();

/// Says `text`, or with --json the node instead (`-`) or besides (a file). Returns the exit status:
/// `exit`, or that of a file that cannot be written.
int answer(const Args& args,
           Console& console,
           const std::string& text,
           const json::Node& node,
           Exit exit = Exit::within_limits);

/// "entry 12, head 3f0a…": the tail of what each entry answers, and its JSON.
std::string noted(const ledger::Head& head);
using line::as_node;

// Parsers for Args::read.
Result<std::string> code_text(std::string_view text);
Result<std::int64_t> count_number(std::string_view text);
/// `412`, or `412-600` (also with an en dash).
Result<works::Impressions> impression_range(std::string_view text);

}  // namespace goodside::cli
