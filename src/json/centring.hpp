#pragma once
#include <string>

#include "works/centring.hpp"

namespace goodside::json {

/// A hole against its groove as text, `"schema": "goodside.centre/1"`: the fields of works::CentringReport under their
/// own names; what is not known is null, an infinite number of degrees of freedom (the scatter is given) too.
/// Equal contents give equal bytes.
std::string write(const works::CentringReport&);

}  // namespace goodside::json
