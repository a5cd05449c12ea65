#pragma once
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "cli/args.hpp"
#include "cli/command.hpp"
#include "disc/equalisation.hpp"
#include "draw/finder_sheet.hpp"
#include "draw/portrait.hpp"
#include "listen/listen.hpp"
#include "works/disc_plays.hpp"
#include "works/listening_report.hpp"

namespace goodside::cli {

/// What the picture shows.
enum class Show { portrait, wow, levels };

/// What `goodside listen` was asked for, read and checked.
struct ListenRequest {
  std::vector<std::string> captures;
  std::string reference;  ///< empty: peers vote one, or each capture is heard alone
  std::vector<std::string> peers;
  std::string save_reference;                ///< empty: the consensus is not kept
  std::optional<works::ReferenceKind> kind;  ///< as typed
  listen::Options options;
  std::optional<disc::Curve> equalise;  ///< captures were recorded flat; empty: already equalised
  bool usual_inner_radius{};            ///< the format's own: neither it nor a pitch was said
  std::vector<works::After>
      plays;  ///< what was done before each capture, plays of one disc; empty: other discs
  std::string json, picture, report, finder, keep;  ///< as typed; empty: not wanted
  bool progress_lines{};                            ///< for a program that waits
  Show show{Show::portrait};
  draw::PortraitOptions portrait;
  draw::Paper paper{draw::a4_paper};  ///< of the finder
};

/// The options of `goodside listen`.
[[nodiscard]] std::vector<Option> listen_options();

/// Reads them. The bench's words come first, options override them. Reads the bench, the limits and
/// the pitch profile from their files; `environment_folder` is GOODSIDE_DIR where set. Errors: one
/// line naming the option, with the mend.
Result<ListenRequest> read_listen_request(const Args&,
                                          const std::optional<std::string>& environment_folder);

}  // namespace goodside::cli
