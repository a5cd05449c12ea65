#pragma once
#include <functional>
#include <string>

#include "base/result.hpp"
#include "listen/listen.hpp"
#include "signal/sample_source.hpp"
#include "works/listening_report.hpp"

namespace goodside::line {

/// One capture and the cut it is to be laid over.
struct Hearing {
  std::string capture, reference;  ///< paths
  works::ReferenceKind kind{works::ReferenceKind::file};
  listen::Options options;  ///< an inner radius or a pitch of 0 is worked out from the reference
};

/// listen::listen, or what stands in for it.
using Engine = std::function<Result<works::ListeningReport>(const signal::SampleSource& capture,
                                                            const signal::SampleSource& reference,
                                                            const listen::Options&,
                                                            const listen::Progress&)>;

/// The side with what its length tells: outer radius - inner radius = pitch x turns. A pitch
/// profile speaks for itself. Errors: Fault::bad_input when the programme runs inside a radius of
/// 25 mm, or outwards.
Result<works::CutSide> completed(const works::CutSide&, double programme_s);

/// Opens both files, hears one against the other, and names them in the report with their SHA-256,
/// which is taken while the engine works. Nothing is written. Errors: those of intake::open_audio,
/// completed and the engine, each naming the file it is about.
Result<works::ListeningReport> hear_capture(const Hearing&, const Engine&, const listen::Progress&);

}  // namespace goodside::line
