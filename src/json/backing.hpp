#pragma once
#include <string>

#include "works/backing.hpp"

namespace goodside::json {

/// A backed stamper as text, `"schema": "goodside.back/1"`: the fields of works::BackingReport under their own names.
std::string write(const works::BackingReport&);
/// A bare back, `"schema": "goodside.bare_back/1"`: the fields of works::BareBackReport; what was not asked is null.
std::string write(const works::BareBackReport&);

}  // namespace goodside::json
