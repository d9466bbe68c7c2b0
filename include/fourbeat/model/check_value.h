// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"
#include "fourbeat/model/members.h"

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

/// Single values against the rules of members.h, and the place of a value in its document.

namespace fourbeat::model {

/// One step of a JSON Pointer (RFC 6901). Steps live on the stack of a walk and point to the step
/// above; they become text only once there is an error.
struct Place {
  const Place* up = nullptr;
  std::string_view name = {};             ///< a member's, or a pointer such as "/segments"
  std::optional<std::size_t> index = {};  ///< an item's; then `name` is unused

  /// The whole pointer; "" for the document.
  [[nodiscard]] std::string pointer() const;
};

/// What is wrong, or nothing.
using Fault = std::optional<Error>;

/// An error at a place.
[[nodiscard]] Fault fault(const Place& place, std::string detail, std::string mend,
                          ErrorCode code = ErrorCode::bad_argument);

/// Finite (else not_finite) and within the rule.
[[nodiscard]] Fault check_number(double value, const MemberRule& rule, const Place& place);
/// Within the rule and within ±whole_limit.
[[nodiscard]] Fault check_whole(std::int64_t value, const MemberRule& rule, const Place& place);
/// UTF-8 and of the rule's form.
[[nodiscard]] Fault check_text(std::string_view text, const MemberRule& rule, const Place& place);

}  // namespace fourbeat::model
