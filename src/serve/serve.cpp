#include "serve/serve.hpp"

#include <arpa/inet.h>
#include <fcntl.h>
#include <fmt/format.h>
#include <signal.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <thread>

#include "serve/board.hpp"
#include "serve/calculations.hpp"
#include "serve/child.hpp"
#include "serve/front.hpp"
#include "serve/given_files.hpp"
#include "serve/http_server.hpp"
#include "serve/jobs.hpp"
#include "serve/recorder.hpp"
#include "serve/reports.hpp"
#include "serve/sounds.hpp"
#include "serve/uploads.hpp"

namespace goodside::serve {
namespace {

namespace fs = std::filesystem;

/// While it lives, this process alone serves the folder.
class FolderLock {
 public:
  explicit FolderLock(const std::string& path)
      : descriptor_{open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0640)} {
    taken_ = descriptor_ >= 0 && flock(descriptor_, LOCK_EX | LOCK_NB) == 0;
  }
  FolderLock(const FolderLock&) = delete;
  FolderLock& operator=(const FolderLock&) = delete;
  ~FolderLock() {
    if (descriptor_ >= 0) close(descriptor_);
  }
  [[nodiscard]] bool taken() const { return taken_; }

 private:
  int descriptor_;
  bool taken_{};
};

bool is_loopback(const std::string& address) {
  in_addr four{};
  if (inet_pton(AF_INET, address.c_str(), &four) == 1) return (ntohl(four.s_addr) >> 24) == 127;
  return address == "::1" || address == "localhost";
}

Outcome make_folders(const std::string& works) {
  for (const char* inner : {"serve", "serve/portraits", "serve/traces", "incoming", "captures"}) {
    std::error_code problem;
    const fs::path folder = fs::path{works} / inner;
    fs::create_directories(folder, problem);
    if (problem)
      return Error{Fault::io,
                   fmt::format("{} cannot be made ({})", folder.string(), problem.message())};
  }
  chmod((works + "/serve").c_str(), S_IRWXU);
  return Done{};
}

/// Blocked before any thread begins, so that only wait_for_end hears them.
sigset_t block_ends() {
  sigset_t ends;
  sigemptyset(&ends);
  sigaddset(&ends, SIGTERM);
  sigaddset(&ends, SIGINT);
  pthread_sigmask(SIG_BLOCK, &ends, nullptr);
  return ends;
}

Router routes_of(Board& board) {
  Router router;
  for (auto* family :
       {session_routes, line_routes,  search_routes, subject_routes, side_routes,
        play_routes,    trace_routes, upload_routes, job_routes,     recording_routes,
        hold_routes,    order_routes, part_routes,   press_routes,   inspect_routes,
        pack_routes,    paper_routes, ledger_routes, flow_routes,    calculation_routes})
    router.add(family(board));
  return router;
}

std::vector<std::string> hosts_of(const std::string& address) {
  return {"localhost", "127.0.0.1", "[::1]", address};
}

/// Serves until asked to end.
Outcome serve_board(const Setting& setting,
                    Board& board,
                    const sigset_t& ends,
                    const std::function<void(const std::string&)>& say) {
  const bool here = is_loopback(setting.address);
  if (!here && (setting.certificate.empty() || board.accounts.none()))
    return Error{
        Fault::bad_input,
        fmt::format("beyond this computer ({}) the server needs {}",
                    setting.address,
                    setting.certificate.empty()
                        ? "TLS: give --tls-cert and --tls-key, or leave --bind out"
                        : "an account: start it once without --bind and make the first one")};
  const Front front{board,
                    routes_of(board),
                    Pages{setting.pages.empty() ? find_pages(own_program()) : setting.pages},
                    {.secure = board.secure,
                     .hosts = here ? hosts_of(setting.address) : std::vector<std::string>{}}};
  const auto server = HttpServer::open({.address = setting.address,
                                        .port = setting.port,
                                        .certificate = setting.certificate,
                                        .key = setting.key},
                                       [&](Asked& asked) { return front.answer(asked); });
  if (!server) return server.error();
  const std::string url = fmt::format("{}://{}:{}/",
                                      board.secure ? "https" : "http",
                                      setting.address == "::1" ? "[::1]" : setting.address,
                                      (*server)->port());
  board.recorder.sweep();
  board.uploads.sweep();
  board.jobs.begin();
  std::thread serving{[&] { (*server)->run(); }};
  say(fmt::format("{} is served at {}", board.place.name, url));
  if (board.accounts.none())
    say(fmt::format("No account is there yet. Make the first with this link, once: {}#first={}",
                    url,
                    board.accounts.first_token()));
  int which = 0;
  sigwait(&ends, &which);
  say("Ending; captures that are being heard begin again at the next start.");
  board.calculations.stop();
  (*server)->stop();
  serving.join();
  board.recorder.stop();
  board.jobs.stop();
  return Done{};
}

}  // namespace

Outcome serve(const Setting& setting, const std::function<void(const std::string&)>& say) {
  // From the root: analyses run in the works folder, wherever this process stands.
  auto place = line::read_works_place(fs::absolute(setting.works).lexically_normal().string());
  if (!place) return place.error();
  if (const auto made = make_folders(place->folder); !made) return made.error();
  const FolderLock lock{place->folder + "/serve/lock"};
  if (!lock.taken())
    return Error{
        Fault::conflict,
        fmt::format("{} is served by another process already; end that one first", place->folder)};
  const sigset_t ends = block_ends();
  setenv("TZ", place->zone.c_str(), 1);
  tzset();
  const auto store = Store::open(place->folder + "/serve/serve.db");
  if (!store) return store.error();
  const auto standing = Standing::open(place->folder + "/serve/standing.db");
  if (!standing) return standing.error();
  try {
    Records records{place->store};
    records.read([&](ledger::Reader& reader) {
      (*standing)->begin(reader, [&](std::int64_t plays) {
        say(fmt::format("reading the record: {} plays", plays));
      });
    });
    Accounts accounts{**store,
                      now_ms,
                      [&](const std::string& who,
                          const std::string& what,
                          const std::string& name,
                          const std::string& roles) {
                        records.at_desk(who, [&](const line::Desk& desk) {
                          static_cast<void>(or_stop(
                              desk.record.write(desk.act(what, name), [&](ledger::Writer& writer) {
                                writer.set("account." + name, roles);
                              })));
                        });
                      }};
    Reports reports{place->folder};
    Sounds sounds{reports};
    const int cores = static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
    Jobs jobs{*place,
              **store,
              records,
              **standing,
              reports,
              {.program = this_program, .at_once = setting.analyses, .cores = cores}};
    Uploads uploads{place->folder, **store, records, jobs};
    Recorder recorder{place->folder, **store, records, reports, uploads};
    GivenFiles given{place->folder, **store};
    Calculations calculations{place->folder, given};
    Board board{.place = *place,
                .secure = !setting.certificate.empty(),
                .store = **store,
                .records = records,
                .standing = **standing,
                .accounts = accounts,
                .reports = reports,
                .sounds = sounds,
                .uploads = uploads,
                .jobs = jobs,
                .recorder = recorder,
                .given = given,
                .calculations = calculations};
    return serve_board(setting, board, ends, say);
  } catch (const Stop& stop) {
    return Error{Fault::io, stop.text};
  } catch (const ledger::StoreFailure& failure) {
    return ledger::told(failure);
  }
}

}  // namespace goodside::serve
