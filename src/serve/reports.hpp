#pragma once
#include <string>
#include <vector>

#include "ledger/record.hpp"
#include "serve/asked.hpp"
#include "works/listening_report.hpp"

namespace goodside::serve {

/// Listening reports as they lie in the works folder. From any thread; throws Stop.
class Reports {
 public:
  explicit Reports(std::string folder) : folder_{std::move(folder)} {}

  /// goodside.listen/1, as it was kept.
  [[nodiscard]] std::string text(const ledger::Row& report) const;
  /// The portrait's part of the answer (route_plays), which is made once a report and kept beside
  /// it: a whole side has two megabytes of report.
  [[nodiscard]] std::string portrait(const ledger::Row& report) const;
  /// Stretches of the programme [s] longer than a turn that this play did not hear; empty where all
  /// was heard, or nothing is known of the programme's length.
  [[nodiscard]] std::vector<works::Interval_s> not_heard(const ledger::Row& report) const;
  /// Makes it, where it is not there.
  void prepare(const ledger::Row& report) const;
  [[nodiscard]] const std::string& folder() const { return folder_; }
  /// A path of the record: from the works folder, where it is not from the root.
  [[nodiscard]] std::string path_of(const std::string& recorded) const;

 private:
  [[nodiscard]] std::string portrait_path(const ledger::Row& report) const;
  [[nodiscard]] std::string not_heard_path(const ledger::Row& report) const;
  void keep_not_heard(const ledger::Row& report, const works::ListeningReport& heard) const;
  std::string folder_;
};

}  // namespace goodside::serve
