#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "cli/listen_request.hpp"

namespace goodside::cli {

/// Where one capture's results go; empty: nowhere. "-" is standard output.
struct Outputs {
  std::string json, picture;
  draw::PictureFormat format{draw::PictureFormat::png};
};

/// The outputs of each capture, worked out before anything is heard. A folder is one that exists or
/// is written with a slash at its end; it gets one file a capture, named for it. Errors: a file for
/// several captures, two captures of one name, an unknown picture format, a folder that is not
/// there, an output that would overwrite an input.
Result<std::vector<Outputs>> plan_outputs(const ListenRequest&);

/// Writes JSON and picture, each whole or not at all; "-" is left to the caller. Errors: of the
/// files.
Outcome save(const works::ListeningReport&, const Outputs&, const draw::PortraitOptions&);

}  // namespace goodside::cli
