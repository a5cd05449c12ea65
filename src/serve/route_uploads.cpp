#include <utility>

#include "serve/board.hpp"
#include "serve/nodes.hpp"
#include "serve/uploads.hpp"

namespace goodside::serve {
namespace {

Answer announce(Board& board, Asked& asked) {
  const Body body{asked};
  const Upload upload = board.uploads.announce({.name = body.text("name"),
                                                .ticket = body.text("ticket"),
                                                .letter = body.text("letter"),
                                                .after = body.text_or("after", "as found"),
                                                .bench = body.text_or("bench", ""),
                                                .sha256 = body.text_or("sha256", ""),
                                                .bytes = body.number("bytes")},
                                               asked.session.name);
  return answer(upload_node(upload), 201);
}

Answer append(Board& board, Asked& asked) {
  const auto offset = whole_number(asked.header("Upload-Offset"));
  if (!offset) throw Stop{400, "Upload-Offset: give where these bytes begin"};
  // Whoever reads the body reads all of it; what is refused before is read away, or ends the line.
  const BodyReader reader = [&](const std::function<bool(std::string_view)>& take) {
    const BodyReader once = std::exchange(asked.read_body, {});
    return once ? once(take) : true;
  };
  return answer(upload_node(board.uploads.append(asked.part("id"), *offset, reader)));
}

}  // namespace

std::vector<Route> upload_routes(Board& board) {
  const std::vector<Role> bringers{Role::listener, Role::station, Role::engineer};
  return {
      {.method = "GET",
       .path = "/api/uploads",
       .own_tag = true,
       .run =
           [&](Asked&) {
             List list;
             for (const Upload& upload : board.uploads.unfinished())
               list.push_back(upload_node(upload));
             return answer(Object{{"uploads", std::move(list)}});
           }},
      {.method = "POST",
       .path = "/api/uploads",
       .roles = bringers,
       .run = [&](Asked& asked) { return announce(board, asked); }},
      {.method = "GET",
       .path = "/api/uploads/{id}",
       .own_tag = true,
       .run =
           [&](Asked& asked) { return answer(upload_node(board.uploads.find(asked.part("id")))); }},
      {.method = "PATCH",
       .path = "/api/uploads/{id}",
       .roles = bringers,
       .streams = true,
       .run = [&](Asked& asked) { return append(board, asked); }},
      {.method = "DELETE",
       .path = "/api/uploads/{id}",
       .roles = bringers,
       .run = [&](Asked& asked) {
         board.uploads.give_up(asked.part("id"));
         return nothing();
       }}};
}

}  // namespace goodside::serve
