#include "line/peer_session.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <optional>
#include <utility>

#include "intake/audio_file.hpp"
#include "intake/audio_writer.hpp"
#include "intake/safe_file.hpp"
#include "json/reference_note.hpp"
#include "line/note_beside.hpp"
#include "listen/audibility.hpp"
#include "listen/pieces.hpp"
#include "listen/prediction_faults.hpp"

namespace goodside::line {
namespace {

constexpr double making_share = 0.4;  // of hearing one capture

Error about(const std::string& what, const Error& error) {
  if (error.text.find(what) != std::string::npos) return error;
  return {error.fault, fmt::format("{}: {}", what, error.text)};
}

Error twice(const std::string& a, const std::string& b) {
  if (a == b)
    return {Fault::bad_input,
            fmt::format("{} is given twice: a copy would vote for itself; give it once", a)};
  return {
      Fault::bad_input,
      fmt::format("{} and {} are one recording: a copy would vote for itself; give it once", a, b)};
}

listen::Rendering rendering_into(intake::AudioWriter& writer, std::optional<std::size_t> without) {
  return {without, [&writer](std::span<const float> samples) { return writer.write(samples); }};
}

/// What was heard, less what no other capture could bear out.
void take_away(const std::vector<works::Interval_s>& bare, works::ListeningReport& report) {
  for (const works::Interval_s& gap : bare) {
    std::vector<works::Interval_s> left;
    for (const works::Interval_s& part : report.heard) {
      if (gap.to_s <= part.from_s || gap.from_s >= part.to_s) {
        left.push_back(part);
        continue;
      }
      if (gap.from_s > part.from_s) left.push_back({part.from_s, gap.from_s});
      if (gap.to_s < part.to_s) left.push_back({gap.to_s, part.to_s});
    }
    report.heard = std::move(left);
    report.remarks.push_back(
        fmt::format("from {:.1f} s to {:.1f} s no other capture covers the groove: not heard",
                    gap.from_s,
                    gap.to_s));
  }
}

}  // namespace

Result<PeerSession> PeerSession::begin(PeerHearing hearing, const listen::Progress& progress) {
  std::vector<std::string> paths = hearing.captures;
  paths.insert(paths.end(), hearing.peers.begin(), hearing.peers.end());
  for (std::size_t i = 0; i < paths.size(); ++i)
    for (std::size_t j = 0; j < i; ++j) {
      std::error_code ignored;
      if (paths[i] == paths[j] || std::filesystem::equivalent(paths[i], paths[j], ignored))
        return twice(paths[j], paths[i]);
    }
  auto folder = intake::TemporaryFolder::create();
  if (!folder) return folder.error();
  const listen::Options options = hearing.options;
  PeerSession session{std::move(hearing), std::move(*folder)};
  for (std::size_t i = 0; i < paths.size(); ++i) {
    auto source = intake::open_audio(paths[i]);
    if (!source) return about(paths[i], source.error());
    session.members_.push_back({{}, std::move(*source), i});
  }
  const auto name = [&](std::size_t /*worker*/, std::size_t i) -> Outcome {
    auto file = intake::identify(paths[i], *session.members_[i].source);
    if (!file) return about(paths[i], file.error());
    session.members_[i].file = std::move(*file);
    return Done{};
  };
  if (auto named = listen::run_pieces(paths.size(), options.jobs, name); !named)
    return named.error();
  std::ranges::sort(session.members_, {}, [](const Member& member) { return member.file.sha256; });
  for (std::size_t i = 1; i < session.members_.size(); ++i)
    if (session.members_[i].file.sha256 == session.members_[i - 1].file.sha256)
      return twice(session.members_[i - 1].file.path, session.members_[i].file.path);

  std::vector<listen::Peer> peers;
  for (const Member& member : session.members_)
    peers.push_back({member.source.get(), member.file.path});
  auto consensus = listen::Consensus::follow(
      std::move(peers), {60.0 / options.side.rpm, options.jobs}, [&](double share) {
        return share < 0.0 || progress(share);
      });
  if (!consensus) return consensus.error();
  session.consensus_ = std::make_unique<listen::Consensus>(std::move(*consensus));
  return session;
}

std::size_t PeerSession::member_of(std::size_t capture) const {
  const auto found = std::ranges::find(members_, capture, &Member::asked);
  return static_cast<std::size_t>(found - members_.begin());
}

works::Reference PeerSession::reference(const works::AudioFile& file) const {
  works::Reference reference;
  reference.file = file;
  reference.kind = works::ReferenceKind::consensus;
  reference.own_faults = common_;
  for (std::size_t i = 0; i < members_.size(); ++i)
    reference.peers.push_back({members_[i].file, consensus_->covered(i), votes_[i].events});
  return reference;
}

Outcome PeerSession::make_reference(std::size_t member,
                                    const std::string& path,
                                    const listen::Progress& progress) {
  const intake::AudioFormat format{
      static_cast<int>(std::lround(consensus_->sample_rate_Hz())), 2, intake::Coding::float_32};
  auto writer = intake::AudioWriter::create(path, format);
  if (!writer) return writer.error();
  std::vector<listen::Rendering> renderings{rendering_into(**writer, member)};
  std::unique_ptr<intake::AudioWriter> keeper;
  if (!saved_ && !hearing_.save_reference.empty()) {
    auto kept = intake::AudioWriter::create(hearing_.save_reference, format);
    if (!kept) return kept.error();
    keeper = std::move(*kept);
    renderings.push_back(rendering_into(*keeper, std::nullopt));
  }
  auto votes = consensus_->render(renderings, progress);
  if (!votes) return votes.error();
  votes_ = std::move(*votes);
  if (auto finished = (*writer)->finish(); !finished) return finished;
  if (!searched_) {
    if (auto searched = find_common(path); !searched) return searched;
  }
  if (!keeper) return Done{};
  if (auto finished = keeper->finish(); !finished) return finished;
  const auto source = intake::open_audio(hearing_.save_reference);
  if (!source) return source.error();
  const auto file = intake::identify(hearing_.save_reference, **source);
  if (!file) return file.error();
  const listen::CommonTime& time = consensus_->time();
  const works::ReferenceNote note{reference(*file), {time.programme_from_s, time.programme_to_s}};
  saved_ = true;
  return intake::write_whole(note_path(hearing_.save_reference), json::write(note));
}

Outcome PeerSession::find_common(const std::string& path) {
  const auto source = intake::open_audio(path);
  if (!source) return source.error();
  const auto found = listen::find_prediction_faults(
      **source, {.jobs = hearing_.options.jobs}, [](double) { return true; });
  if (!found) return found.error();
  for (const listen::PredictionFault& fault : found->faults) {
    if (listen::audibility({fault.fault_energy, fault.noise_energy, fault.programme_energy}) ==
        works::Audibility::masked)
      continue;
    constexpr double about_s = 0.5e-3;
    common_.push_back({std::max(0.0, fault.at_s - fault.duration_s - about_s),
                       fault.at_s + fault.duration_s + about_s});
  }
  searched_ = true;
  return Done{};
}

Result<works::ListeningReport> PeerSession::hear(std::size_t k,
                                                 const Engine& engine,
                                                 const listen::Progress& progress) {
  const std::size_t member = member_of(k);
  const std::string path = reference_path();
  if (auto made = make_reference(
          member, path, [&](double share) { return progress(making_share * share); });
      !made)
    return made.error();
  Hearing hearing{.capture = hearing_.captures[k],
                  .reference = path,
                  .kind = works::ReferenceKind::consensus,
                  .options = hearing_.options,
                  .equalise = hearing_.equalise,
                  .usual_inner_radius = hearing_.usual_inner_radius};
  hearing.options.reference_faults = common_;
  auto report = hear_capture(hearing, engine, [&](double share) {
    return progress(making_share + (1.0 - making_share) * share);
  });
  const std::string shown = fmt::format("consensus of {} captures", members_.size());
  if (!report) {
    Error error = report.error();
    if (const auto at = error.text.find(path); at != std::string::npos)
      error.text.replace(at, path.size(), "the " + shown);
    return error;
  }
  works::Reference named = reference(report->reference->file);
  named.file.path = shown;
  named.own_faults = report->reference->own_faults;
  report->reference = std::move(named);
  take_away(consensus_->covered_by_none_but(member), *report);
  return report;
}

}  // namespace goodside::line
