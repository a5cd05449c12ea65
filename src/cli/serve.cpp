#include "serve/serve.hpp"

#include <csignal>
#include <cstdlib>
#include <ostream>

#include "cli/commands.hpp"
#include "cli/works_open.hpp"

namespace goodside::cli {
namespace {

/// A parser of whole numbers.
auto whole_from(int low, int high, const char* what) {
  return [=](std::string_view text) -> Result<int> {
    const auto number = count_number(text);
    if (number && *number >= low && *number <= high) return static_cast<int>(*number);
    return Error{Fault::bad_input, std::string{"give "} + what};
  };
}

int run_serve(const Args& args, Console& console) {
  std::signal(SIGXFSZ, SIG_IGN);  // a full disk is told in a sentence, not by a signal
  const auto port = args.read("--port", whole_from(0, 65535, "a port from 1 to 65535, 0 for any"));
  const auto analyses = args.read("--analyses", whole_from(1, 64, "a whole number from 1 to 64"));
  if (!port) return console.refuse(port.error());
  if (!analyses) return console.refuse(analyses.error());
  if (args.given("--tls-cert") != args.given("--tls-key"))
    return console.refuse({Fault::bad_input, "--tls-cert and --tls-key go together"});
  const auto folder = served_folder(args);
  if (!folder) return console.refuse(folder.error());
  const auto served =
      serve::serve({.works = *folder,
                    .address = args.text("--bind"),
                    .port = *port,
                    .certificate = args.text("--tls-cert"),
                    .key = args.text("--tls-key"),
                    .pages = args.text("--pages"),
                    .analyses = *analyses},
                   [&](const std::string& words) { console.out() << words << '\n'
                                                                 << std::flush; });
  if (!served) return console.refuse(served.error());
  return static_cast<int>(Exit::within_limits);
}

}  // namespace

Command serve_command() {
  return {.name = "serve",
          .help = "Serves a works folder to browsers: the line, the listening bench, the traces.",
          .example = R"(goodside serve --works pressings

Our Pressings is served at http://127.0.0.1:7833/
No account is there yet. Make the first with this link, once: http://…#first=…

Beyond this computer it takes TLS, and an account made beforehand
goodside serve --works pressings --bind 0.0.0.0 --tls-cert a.pem --tls-key k.pem)",
          .options = {{.name = "--works",
                       .value = "DIR",
                       .help = "The works folder; without it GOODSIDE_DIR or the nearest above."},
                      {.name = "--port",
                       .value = "N",
                       .help = "Where it listens; 0 takes any that is free.",
                       .fallback = "7833"},
                      {.name = "--bind",
                       .value = "ADDRESS",
                       .help = "Its address; others than this computer reach it at 0.0.0.0.",
                       .fallback = "127.0.0.1"},
                      {.name = "--tls-cert",
                       .value = "FILE",
                       .help = "Certificate with its chain, PEM. With it the server speaks TLS."},
                      {.name = "--tls-key", .value = "FILE", .help = "Its private key, PEM."},
                      {.name = "--pages",
                       .value = "DIR",
                       .help = "The built pages; without it those that came with the program."},
                      {.name = "--analyses",
                       .value = "N",
                       .help = "Captures heard at once.",
                       .fallback = "2"}},
          .run = run_serve};
}

}  // namespace goodside::cli
