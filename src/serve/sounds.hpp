#pragma once
#include <list>
#include <memory>
#include <mutex>
#include <optional>
#include <string>

#include "line/window_sound.hpp"
#include "serve/reports.hpp"

namespace goodside::serve {

/// Windows of heard plays, made again from what their analyses kept. The last ones are held in
/// memory (64 MB at most), since a browser asks for one in several ranges, and for capture, cut and
/// difference one after the other. From any thread; throws Stop.
class Sounds {
 public:
  explicit Sounds(const Reports& reports) : reports_{reports} {}

  enum class Which { capture, cut, difference };
  /// `report` and `capture`: rows of the record.
  [[nodiscard]] std::shared_ptr<const line::WindowSound> window(const ledger::Row& report,
                                                                const ledger::Row& capture,
                                                                const listen::Window& window);
  /// The programme under the stylus at that moment of the capture, from the delay track that was
  /// kept; nothing where none was, or the stylus was not in the programme.
  [[nodiscard]] std::optional<double> programme_s(const ledger::Row& report, double capture_s);
  /// Why the cut cannot be heard beside the capture; empty where it can.
  [[nodiscard]] std::string why_no_cut(const ledger::Row& report) const;

 private:
  struct Held {
    std::string key;
    std::shared_ptr<const line::WindowSound> sound;
  };
  [[nodiscard]] std::shared_ptr<const line::KeptTrack> track_of(const std::string& path);
  [[nodiscard]] std::string track_path(const ledger::Row& report) const;

  const Reports& reports_;
  std::mutex guard_, making_;
  std::list<Held> held_;  ///< the last asked for first
  std::size_t bytes_{};
  std::list<std::pair<std::string, std::shared_ptr<const line::KeptTrack>>> tracks_;
};

}  // namespace goodside::serve
