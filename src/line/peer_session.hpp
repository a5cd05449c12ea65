#pragma once
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "intake/temporary_folder.hpp"
#include "line/hear_capture.hpp"
#include "listen/consensus.hpp"
#include "works/reference_note.hpp"

namespace goodside::line {

/// Captures to be heard without the cut's audio, and others of the same cut that vote with them.
struct PeerHearing {
  std::vector<std::string> captures, peers;  ///< paths
  std::string save_reference;                ///< where the consensus of all is kept; empty: nowhere
  listen::Options options;
  std::optional<disc::Curve> equalise{};  ///< as in Hearing, for the capture and the consensus
  bool usual_inner_radius{};              ///< as in Hearing
};

/// Several captures of one cut, followed once; each is then heard against a consensus in which it votes but has no
/// share. A recording that is a capture and a peer is given as a capture alone.
class PeerSession {
 public:
  /// Opens, hashes and follows them all. Errors: those of intake::open_audio and listen::Consensus, naming the file;
  /// Fault::bad_input where one recording is given twice.
  static Result<PeerSession> begin(PeerHearing hearing, const listen::Progress&);

  /// Hears capture `k`. The first one also keeps the consensus of all where that was asked for, with its note
  /// (goodside.reference/1) beside it under the name that ends in ".json". Needs room for a copy of the capture in
  /// 32-bit float among the temporary files. Errors: those of hear_capture; Fault::io of what is written.
  /// Where the consensus lies that the last capture was heard against.
  [[nodiscard]] std::string reference_path() const { return folder_.file("consensus.wav"); }
  Result<works::ListeningReport> hear(std::size_t k, const Engine&, const listen::Progress&);

 private:
  struct Member {
    works::AudioFile file;
    std::unique_ptr<signal::SampleSource> source;
    std::size_t asked{};  ///< place among captures, then peers
  };

  PeerSession(PeerHearing hearing, intake::TemporaryFolder folder)
      : hearing_{std::move(hearing)}, folder_{std::move(folder)} {}
  [[nodiscard]] std::size_t member_of(std::size_t capture) const;
  Outcome make_reference(std::size_t member, const std::string& path, const listen::Progress&);
  /// What stands out of the consensus itself: faults that all share, as far as prediction can tell them.
  Outcome find_common(const std::string& path);
  [[nodiscard]] works::Reference reference(const works::AudioFile& file) const;

  PeerHearing hearing_;
  intake::TemporaryFolder folder_;
  std::vector<Member>
      members_;  ///< in the order of their hashes: the answer does not hang on how they were given
  std::unique_ptr<listen::Consensus> consensus_;
  std::vector<listen::VoteCount> votes_;
  std::vector<works::Interval_s> common_;  ///< faults that all have
  bool saved_{}, searched_{};
};

}  // namespace goodside::line
