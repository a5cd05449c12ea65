#pragma once
#include <functional>
#include <optional>
#include <string>

#include "base/result.hpp"
#include "disc/equalisation.hpp"
#include "listen/listen.hpp"
#include "signal/sample_source.hpp"
#include "works/listening_report.hpp"

namespace goodside::line {

/// One capture and the cut it is to be laid over.
struct Hearing {
  std::string capture{}, reference{};  ///< paths; no reference: the capture is heard alone
  /// Without it what the note beside the reference says, or else a file.
  std::optional<works::ReferenceKind> kind{};
  listen::Options options;  ///< an inner radius or a pitch of 0 is worked out from the reference
  /// The capture was recorded flat and is heard through this curve; so is a reference that was played
  /// too (a mother, an approved pressing).
  std::optional<disc::Curve> equalise{};
  /// The inner radius is the format's usual one, which a short programme need not reach.
  bool usual_inner_radius{};
};

/// listen::listen, or what stands in for it.
using Engine = std::function<Result<works::ListeningReport>(const signal::SampleSource& capture,
                                                            const signal::SampleSource& reference,
                                                            const listen::Options&,
                                                            const listen::Progress&)>;

/// A side whose radii and pitch agree with the programme's length.
struct CompletedSide {
  works::CutSide side;
  std::string remark;  ///< a plain sentence where the pitch is a guess or unlikely; else empty
};

/// outer radius - inner radius = pitch x turns fills in what is missing. Where the inner radius is
/// only the format's usual one and would need a wider pitch than is cut, the usual mean pitch
/// stands instead: 0.106 mm (240 lines an inch), coarse groove 0.267 mm (95 lines an inch): common
/// practice, no source. Errors: Fault::bad_input when the programme runs inside a radius of 25 mm,
/// or outwards.
Result<CompletedSide> completed(const works::CutSide&, double programme_s, bool usual_inner_radius);

/// Opens both files, hears one against the other, and names them in the report with their SHA-256,
/// which is taken while the engine works. A note beside the reference (note_beside.hpp) gives its kind and its own
/// faults. Nothing is written. Errors: those of intake::open_audio, note_beside, completed and the engine, each
/// naming the file it is about; Fault::bad_input where the note is of another recording.
Result<works::ListeningReport> hear_capture(const Hearing&, const Engine&, const listen::Progress&);

/// Opens the capture, hears it alone (listen/listen_alone.hpp) and names it in the report with its SHA-256. Nothing
/// is written; the capture's length stands for the programme's. Errors: as of hear_capture; Fault::bad_input for marks or a pitch profile, which need the
/// programme's time.
Result<works::ListeningReport> hear_alone(const Hearing&, const listen::Progress&);

}  // namespace goodside::line
