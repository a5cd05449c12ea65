#include <fmt/format.h>
#include <malloc.h>

#include <cstdlib>
#include <optional>
#include <ostream>

#include "cli/commands.hpp"
#include "cli/listen_outputs.hpp"
#include "cli/listen_request.hpp"
#include "cli/plays_summary.hpp"
#include "cli/progress_bar.hpp"
#include "cli/stop.hpp"
#include "cli/summary.hpp"
#include "draw/words.hpp"
#include "intake/safe_file.hpp"
#include "json/disc_plays.hpp"
#include "json/listening_report.hpp"
#include "line/kept_track.hpp"
#include "line/peer_session.hpp"
#include "line/worst_sounds.hpp"
#include "listen/disc_plays.hpp"

namespace goodside::cli {
namespace {

using Session = std::optional<line::PeerSession>;

ProgressBar::Shown progress_of(const ListenRequest& request, const Console& console) {
  if (request.progress_lines) return ProgressBar::Shown::lines;
  return console.progress() ? ProgressBar::Shown::bar : ProgressBar::Shown::nothing;
}

/// Follows the peers, where there are any.
Result<Session> begin(const ListenRequest& request, Console& console) {
  if (request.peers.empty()) return Session{};
  ProgressBar bar{console.err(), progress_of(request, console), "peers"};
  auto session = line::PeerSession::begin({.captures = request.captures,
                                           .peers = request.peers,
                                           .save_reference = request.save_reference,
                                           .options = request.options,
                                           .equalise = request.equalise,
                                           .usual_inner_radius = request.usual_inner_radius},
                                          [&](double share) {
                                            bar.show(share);
                                            return !StopWatch::asked();
                                          });
  if (!session) return session.error();
  return Session{std::move(*session)};
}

/// `hearing` afterwards names the consensus that it was heard against.
Result<works::ListeningReport> hear_against_peers(line::PeerSession& session,
                                                  std::size_t k,
                                                  line::Hearing& hearing,
                                                  const line::Engine& engine,
                                                  const listen::Progress& progress) {
  const line::Engine trimmed =
      [&](const auto& heard, const auto& cut, const auto& options, const auto& told) {
        malloc_trim(0);  // what following and voting took is not wanted while the capture is heard
        listen::Options kept = options;
        kept.keep = hearing.options.keep;
        return engine(heard, cut, kept, told);
      };
  hearing.reference = session.reference_path();
  hearing.kind = works::ReferenceKind::consensus;
  return session.hear(k, trimmed, progress);
}

Outcome keep(const ListenRequest& request,
             const line::Hearing& hearing,
             const works::ListeningReport& report,
             listen::Kept&& kept) {
  return line::write_kept(
      request.keep,
      {.capture = hearing.capture,
       .reference = hearing.reference,
       .reference_played = report.reference && works::was_played(report.reference->kind),
       .equalise = request.equalise ? line::curve_text(*request.equalise) : "",
       .kept = std::move(kept)});
}

/// Hears one capture and writes what was asked for.
Result<works::ListeningReport> hear(const ListenRequest& request,
                                    Session& session,
                                    std::size_t k,
                                    const Outputs& outputs,
                                    const line::Engine& engine,
                                    Console& console) {
  const std::string& capture = request.captures[k];
  std::optional<listen::Kept> kept;
  line::Hearing hearing{.capture = capture,
                        .reference = request.reference,
                        .kind = request.kind,
                        .options = request.options,
                        .equalise = request.equalise,
                        .usual_inner_radius = request.usual_inner_radius};
  if (!outputs.report.empty() || !request.keep.empty())
    hearing.options.keep = [&](listen::Kept&& all) { kept = std::move(all); };
  auto report = [&] {
    ProgressBar bar{console.err(), progress_of(request, console), draw::file_name(capture)};
    const auto progress = [&](double share) {
      bar.show(share);
      return !StopWatch::asked();
    };
    if (session) return hear_against_peers(*session, k, hearing, engine, progress);
    return hearing.reference.empty() ? line::hear_alone(hearing, progress)
                                     : line::hear_capture(hearing, engine, progress);
  }();
  if (StopWatch::asked()) return Error{Fault::conflict, "stopped, nothing written"};
  if (!report) return report;
  std::vector<draw::FaultSound> sounds;
  if (!outputs.report.empty()) {
    auto heard = line::worst_sounds(hearing, *report, kept);
    if (!heard) return heard.error();
    sounds = std::move(*heard);
  }
  if (kept && !request.keep.empty())
    if (const auto done = keep(request, hearing, *report, std::move(*kept)); !done)
      return done.error();
  if (const auto saved = save(*report, outputs, request, std::move(sounds)); !saved)
    return saved.error();
  return report;
}

int status_of(const Result<works::ListeningReport>& report) {
  if (!report) return static_cast<int>(exit_of(report.error().fault));
  return static_cast<int>(report->verdict.pass ? Exit::within_limits : Exit::outside_limits);
}

int hear_one(const ListenRequest& request,
             Session& session,
             const Outputs& outputs,
             const line::Engine& engine,
             Console& console) {
  const auto report = hear(request, session, 0, outputs, engine, console);
  if (!report) return console.refuse(report.error());
  console.out() << (outputs.json == "-" ? json::write(*report)
                                        : summary(*report, console.colour()));
  return status_of(report);
}

int hear_many(const ListenRequest& request,
              Session& session,
              const std::vector<Outputs>& outputs,
              const line::Engine& engine,
              Console& console) {
  std::vector<HeardOne> all;
  bool failed = false;
  int status = 0;
  for (std::size_t i = 0; i < request.captures.size(); ++i) {
    auto report = hear(request, session, i, outputs[i], engine, console);
    if (StopWatch::asked() && !report)
      return console.refuse(
          {Fault::conflict,
           all.empty() ? "stopped, nothing written"
                       : fmt::format("stopped after {} of {} captures; those are whole, of the "
                                     "others nothing was written",
                                     all.size(),
                                     request.captures.size())});
    status = std::max(status, status_of(report));
    failed = failed || !report;
    all.push_back({request.captures[i], std::move(report)});
  }
  console.out() << table(all, console.colour());
  return failed ? std::max(status, static_cast<int>(Exit::unusable)) : status;
}

/// Plays of one disc, heard each and taken together.
int hear_plays(ListenRequest request, const line::Engine& engine, Console& console) {
  const auto target = plan_plays(request);
  if (!target) return console.refuse(target.error());
  const auto outputs = plan_outputs(request);
  if (!outputs) return console.refuse(outputs.error());
  std::vector<works::ListeningReport> heard;
  for (std::size_t i = 0; i < request.captures.size(); ++i) {
    Session no_peers;
    auto report = hear(request, no_peers, i, (*outputs)[i], engine, console);
    if (!report) return console.refuse(report.error());
    heard.push_back(std::move(*report));
  }
  const auto plays = listen::compare_plays(heard, request.plays, request.options.limits);
  if (!plays) return console.refuse(plays.error());
  if (!target->empty() && *target != "-")
    if (const auto saved = intake::write_whole(*target, json::write(*plays)); !saved)
      return console.refuse(saved.error());
  console.out() << (*target == "-" ? json::write(*plays) : plays_summary(*plays, console.colour()));
  return static_cast<int>(plays->verdict.pass ? Exit::within_limits : Exit::outside_limits);
}

std::optional<std::string> environment(const char* name) {
  const char* value = std::getenv(name);  // NOLINT(concurrency-mt-unsafe): no thread runs yet
  return value == nullptr ? std::nullopt : std::optional<std::string>{value};
}

}  // namespace

Command listen_command(line::Engine engine) {
  return {.name = "listen",
          .help = "Hears a pressed side against its cut: what is wrong, where, pass or fail.",
          .example = R"(goodside listen side-a.wav --reference side-a-cut.wav --format 12in-33 \
    --arm-length 230mm --arm-mount 212mm --json a.json --picture a.png
  or, without the cut's audio,
goodside listen side-a.wav --peers b.wav c.wav --format 12in-33 \
    --save-reference title.wav

▲ Outside limits  side-a.wav against side-a-cut.wav, 12in-33
  - 1 plain fault, limit 0: a tick at 1:23.456, 140.5 mm from the centre
  ...
Next: brush the disc and hear 1:23.456 (140.5 mm, 88°) again; what stays,
      seek on a sister disc of the same stamper.

Plays of one disc: dust told from what is pressed in, hole from seating
goodside listen found.wav brushed.wav reseated.wav --reference cut.wav \
    --format 12in-33 --plays "as found,brushed,reseated"

Without the cut, the capture alone: plain ticks and pops, noise and hum;
what cannot be known so is named
goodside listen side-a.wav --format 12in-33)",
          .options = listen_options(),
          .run = [engine = std::move(engine)](const Args& args, Console& console) {
            const auto request = read_listen_request(args, environment("GOODSIDE_DIR"));
            if (!request) return console.refuse(request.error());
            if (!request->plays.empty()) {
              const StopWatch stop_watch;
              return hear_plays(*request, engine, console);
            }
            const auto outputs = plan_outputs(*request);
            if (!outputs) return console.refuse(outputs.error());
            const StopWatch stop_watch;
            auto session = begin(*request, console);
            if (StopWatch::asked())
              return console.refuse({Fault::conflict, "stopped, nothing written"});
            if (!session) return console.refuse(session.error());
            if (request->captures.size() == 1)
              return hear_one(*request, *session, outputs->front(), engine, console);
            return hear_many(*request, *session, *outputs, engine, console);
          }};
}

}  // namespace goodside::cli
