#include "serve/board.hpp"
#include "serve/jobs.hpp"
#include "serve/nodes.hpp"

namespace goodside::serve {
namespace {

Answer jobs(Board& board, Asked& asked) {
  const auto all = board.jobs.list(asked.number("limit", 1, 200, 50));
  List list;
  std::int64_t running = 0, queued = 0;
  for (const Job& job : all) {
    running += job.state == "running" ? 1 : 0;
    queued += job.state == "queued" ? 1 : 0;
    list.push_back(job_node(job));
  }
  return answer(Object{{"version", board.jobs.version()},
                       {"jobs", std::move(list)},
                       {"running", running},
                       {"queued", queued}});
}

}  // namespace

std::vector<Route> job_routes(Board& board) {
  const std::vector<Role> bringers{Role::listener, Role::station, Role::engineer};
  return {
      {.method = "GET",
       .path = "/api/jobs",
       .with_jobs = true,
       .run = [&](Asked& asked) { return jobs(board, asked); }},
      {.method = "GET",
       .path = "/api/jobs/{id}",
       .with_jobs = true,
       .run = [&](Asked& asked) { return answer(job_node(board.jobs.find(asked.part("id")))); }},
      {.method = "POST",
       .path = "/api/jobs/{id}/cancel",
       .roles = bringers,
       .run = [&](Asked& asked) { return answer(job_node(board.jobs.cancel(asked.part("id")))); }},
      {.method = "POST",
       .path = "/api/jobs/{id}/retry",
       .roles = bringers,
       .run = [&](Asked& asked) { return answer(job_node(board.jobs.retry(asked.part("id")))); }}};
}

}  // namespace goodside::serve
