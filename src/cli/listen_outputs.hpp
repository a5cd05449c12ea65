#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "cli/listen_request.hpp"
#include "draw/report_page.hpp"

namespace goodside::cli {

/// Where one capture's results go; empty: nowhere. "-" is standard output.
struct Outputs {
  std::string json, picture, report, finder;
  draw::PictureFormat format{draw::PictureFormat::png};         ///< of the picture
  draw::PictureFormat finder_format{draw::PictureFormat::pdf};  ///< of the finder
};

/// What the path of `--picture` ends with; PNG where it is empty. Errors: Fault::bad_input.
Result<draw::PictureFormat> picture_format(const std::string& path);

/// The outputs of each capture, worked out before anything is heard. A folder is one that exists or
/// is written with a slash at its end; it gets one file a capture, named for it. Errors: a file for
/// several captures, two captures of one name, an unknown picture format, a folder that is not
/// there, an output that would overwrite an input.
Result<std::vector<Outputs>> plan_outputs(const ListenRequest&);

/// Where the plays of one disc go, taken together: `--json` itself where it is a file or "-", then taken from the
/// request, so that no single play is written there; in a folder plays.json beside the plays' own reports. Empty: nowhere. Errors: as
/// of plan_outputs.
Result<std::string> plan_plays(ListenRequest&);

/// Draws what is wanted, then writes it, each file whole or not at all; JSON to "-" is left to the caller.
/// `sounds` go into the report's page. Errors: of the drawings and the files.
Outcome save(const works::ListeningReport&,
             const Outputs&,
             const ListenRequest&,
             std::vector<draw::FaultSound> sounds);

}  // namespace goodside::cli
