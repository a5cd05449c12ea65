#include <fmt/format.h>

#include <utility>

#include "line/reverse_entry.hpp"
#include "serve/board.hpp"
#include "serve/calculations.hpp"
#include "serve/nodes.hpp"
#include "works/code.hpp"

namespace goodside::serve {
namespace {

const Calculation& named(const Asked& asked) {
  const auto* found = find_calculation(asked.part("name"));
  if (found == nullptr)
    throw Stop{404,
               fmt::format("there is no calculation {}; GET /api/calculations lists them",
                           asked.part("name").substr(0, 40))};
  return *found;
}

json::Node calculation_node(const Calculation& calculation) {
  std::string command;
  for (const auto word : calculation.command)
    command += fmt::format("{}{}", command.empty() ? "" : " ", word);
  List options;
  for (const auto& option : calculation.options) {
    const char* as = option.as == GivenAs::yes       ? "yes"
                     : option.as == GivenAs::several ? "several"
                     : option.as == GivenAs::file    ? "file"
                                                     : "text";
    options.push_back(Object{{"name", std::string{option.name}}, {"as", as}});
  }
  return Object{{"name", std::string{calculation.name}},
                {"command", command},
                {"options", std::move(options)},
                {"log_to", or_null(std::string{calculation.log.to})}};
}

Answer list(Board& board) {
  List all, files;
  for (const Calculation& one : calculations()) all.push_back(calculation_node(one));
  for (const GivenFile& file : board.given.list()) files.push_back(given_node(file));
  return answer(Object{{"calculations", std::move(all)}, {"files", std::move(files)}});
}

json::Node calculated_node(const Calculation& calculation, Calculated done) {
  List cautions;
  for (std::string& caution : done.cautions) cautions.emplace_back(std::move(caution));
  return Object{{"name", std::string{calculation.name}},
                {"within", done.within},
                {"headline", std::move(done.headline)},
                {"cautions", std::move(cautions)},
                {"next", or_null(done.next)},
                {"words", std::move(done.words)},
                {"result", std::move(done.result)},
                {"pictures", std::move(done.pictures)},
                {"entry", or_null(done.entry)}};
}

Answer calculate(Board& board, Asked& asked) {
  const Calculation& calculation = named(asked);
  const Body body{asked};
  return answer(calculated_node(calculation,
                                board.calculations.run({.calculation = calculation,
                                                        .options = body.node("options"),
                                                        .who = asked.session.name,
                                                        .log_to = {}})));
}

bool same_code(const std::string& typed, const std::string& code) {
  const auto read = works::read_code(typed);
  return read && *read == code;
}

/// To a row of the record, or under a name that somebody makes up; what was calculated for one part is
/// not entered to another.
std::string entered_to(const Calculation& calculation, const Body& body) {
  const auto* option = body.node("options").find(calculation.log.to);
  const auto* told = option == nullptr ? nullptr : std::get_if<std::string>(&option->value);
  const std::string to = body.text_or("to", told == nullptr ? "" : *told);
  if (to.empty() && calculation.log.must)
    throw Stop{422, fmt::format("to: name the {} that this is entered to", calculation.log.to)};
  if (to.empty() || !calculation.log.is_code) return to;
  const auto code = works::read_code(to);
  if (!code) throw Stop{422, "to: " + code.error().text};
  if (told == nullptr || told->empty() || same_code(*told, *code)) return *code;
  throw Stop{
      422, fmt::format("to: this was calculated for {}; calculate it for {} first", *told, *code)};
}

Answer log(Board& board, Asked& asked) {
  const Calculation& calculation = named(asked);
  if (calculation.log.to.empty())
    throw Stop{422, fmt::format("{}: nothing of this is entered in the record", calculation.name)};
  const Body body{asked};
  auto done = board.calculations.run({.calculation = calculation,
                                      .options = body.node("options"),
                                      .who = asked.session.name,
                                      .log = true,
                                      .log_to = entered_to(calculation, body)});
  return answer(calculated_node(calculation, std::move(done)), 201);
}

Answer give(Board& board, Asked& asked) {
  // Whoever reads the body reads all of it; what is refused before is read away, or ends the line.
  const BodyReader reader = [&](const std::function<bool(std::string_view)>& take) {
    const BodyReader once = std::exchange(asked.read_body, {});
    return once ? once(take) : true;
  };
  return answer(given_node(board.given.keep(
                    asked.asked_for("name").value_or(""), reader, asked.session.name)),
                201);
}

}  // namespace

std::vector<Route> calculation_routes(Board& board) {
  return {{.method = "GET",
           .path = "/api/calculations",
           .own_tag = true,
           .run = [&](Asked&) { return list(board); }},
          {.method = "POST",
           .path = "/api/calculations/files",
           .streams = true,
           .run = [&](Asked& asked) { return give(board, asked); }},
          {.method = "POST",
           .path = "/api/calculations/{name}",
           .run = [&](Asked& asked) { return calculate(board, asked); }},
          {.method = "POST",
           .path = "/api/calculations/{name}/log",
           .roles = {Role::station, Role::engineer},
           .run = [&](Asked& asked) { return log(board, asked); }}};
}

}  // namespace goodside::serve
