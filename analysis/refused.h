// How is a refusal said in one line?

#pragma once

#include <string>
#include <utility>

#include "analysis/outcome.h"

namespace endgate::analysis {

[[nodiscard]] inline Refusal refused(RefusalKind kind, std::string detail,
                                     std::optional<std::size_t> index = {}) {
  return {kind, std::move(detail), index};
}

[[nodiscard]] inline Refusal out_of_domain(std::string detail) {
  return refused(RefusalKind::value_out_of_domain, std::move(detail));
}

}  // namespace endgate::analysis
