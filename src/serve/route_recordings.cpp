#include "serve/board.hpp"
#include "serve/nodes.hpp"
#include "serve/recorder.hpp"

namespace goodside::serve {
namespace {

Answer devices() {
  List list;
  for (const SoundDevice& device : sound_devices())
    list.push_back(Object{{"name", device.name}, {"words", or_null(device.words)}});
  return answer(Object{{"devices", std::move(list)}});
}

Answer arm(Board& board, Asked& asked) {
  const Body body{asked};
  return answer(
      board.recorder.arm({.device = body.text("device"),
                          .ticket = body.text("ticket"),
                          .letter = body.text("letter"),
                          .after = body.text_or("after", "as found"),
                          .bench = body.text_or("bench", ""),
                          .sample_rate_Hz = body.maybe_number("sample_rate_Hz").value_or(96'000)},
                         asked.session.name),
      201);
}

}  // namespace

std::vector<Route> recording_routes(Board& board) {
  const std::vector<Role> bringers{Role::listener, Role::station, Role::engineer};
  const auto act = [&](const char* path, json::Node (Recorder::*what)(const std::string&)) {
    return Route{
        .method = "POST", .path = path, .roles = bringers, .run = [&board, what](Asked& asked) {
          return answer((board.recorder.*what)(asked.part("id")));
        }};
  };
  return {{.method = "GET",
           .path = "/api/recordings/devices",
           .roles = bringers,
           .own_tag = true,
           .run = [](Asked&) { return devices(); }},
          {.method = "GET",
           .path = "/api/recordings",
           .own_tag = true,
           .run = [&](Asked&) { return answer(board.recorder.list()); }},
          {.method = "POST",
           .path = "/api/recordings",
           .roles = bringers,
           .run = [&](Asked& asked) { return arm(board, asked); }},
          {.method = "GET",
           .path = "/api/recordings/{id}",
           .own_tag = true,
           .run = [&](Asked& asked) { return answer(board.recorder.find(asked.part("id"))); }},
          act("/api/recordings/{id}/begin", &Recorder::begin),
          act("/api/recordings/{id}/end", &Recorder::end),
          act("/api/recordings/{id}/send", &Recorder::send),
          {.method = "DELETE",
           .path = "/api/recordings/{id}",
           .roles = bringers,
           .run = [&](Asked& asked) {
             board.recorder.give_up(asked.part("id"));
             return nothing();
           }}};
}

}  // namespace goodside::serve
