#include "cli/say_moved.hpp"

#include <fmt/format.h>

namespace goodside::cli {
namespace {

json::Node movement_node(const works::Movement& movement) {
  const auto spot = [](const works::Spot& place) {
    json::Node::Object object{{"place", std::string{word(place.place)}}};
    if (!place.at.empty()) object.emplace_back("at", place.at);
    if (!place.reason.empty()) object.emplace_back("reason", place.reason);
    return object;
  };
  return json::Node::Object{
      {"run", movement.run},
      {"impressions", json::Node::List{movement.impressions.first, movement.impressions.last}},
      {"quantity", movement.quantity},
      {"from", spot(movement.from)},
      {"to", spot(movement.to)}};
}

std::string movement_line(const works::Movement& movement) {
  const auto spot = [](const works::Spot& place) {
    return std::string{word(place.place)} + (place.at.empty() ? "" : " " + place.at);
  };
  return fmt::format("  {:>7} of {:>7}–{:<7}  {} → {}\n",
                     movement.quantity,
                     movement.impressions.first,
                     movement.impressions.last,
                     spot(movement.from),
                     spot(movement.to));
}

}  // namespace

int say_moved(const Args& args,
              Console& console,
              const std::string& what,
              const Result<line::Moved>& moved) {
  if (!moved) return console.refuse(moved.error());
  std::string text =
      fmt::format("{} disc{} {}\n", moved->discs, moved->discs == 1 ? "" : "s", what);
  json::Node::List list;
  for (const works::Movement& movement : moved->movements) {
    if (list.size() < 20) text += movement_line(movement);
    list.push_back(movement_node(movement));
  }
  if (list.size() > 20)
    text += fmt::format("  … and {} more; --json has them all\n", list.size() - 20);
  if (moved->shipped > 0)
    text += fmt::format("{} discs that may be among them have been shipped: tell the customer.\n",
                        moved->shipped);
  return answer(args,
                console,
                text + noted(moved->head),
                json::Node::Object{{"discs", moved->discs},
                                   {"movements", std::move(list)},
                                   {"shipped", moved->shipped},
                                   {"head", as_node(moved->head)}});
}

std::string closed_text(const std::string& unit, const line::Closed& closed) {
  std::string text = fmt::format(
      "{} disc{} in {}, which is closed\n", closed.discs, closed.discs == 1 ? "" : "s", unit);
  if (!closed.sscc.empty()) text += fmt::format("  SSCC (00){}\n", closed.sscc);
  return text + noted(closed.head);
}

json::Node closed_node(const std::string& unit, const line::Closed& closed) {
  return json::Node::Object{{"unit", unit},
                            {"discs", closed.discs},
                            {"cartons", closed.cartons},
                            {"sscc", closed.sscc.empty() ? json::Node{} : json::Node{closed.sscc}},
                            {"head", as_node(closed.head)}};
}

Result<std::vector<std::string>> code_list(const std::vector<std::string>& typed) {
  std::vector<std::string> codes;
  for (const std::string& one : typed) {
    auto code = code_text(one);
    if (!code) return code.error();
    codes.push_back(std::move(*code));
  }
  return codes;
}

}  // namespace goodside::cli
