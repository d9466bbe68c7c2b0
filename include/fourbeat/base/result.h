// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cassert>
#include <string>
#include <string_view>
#include <utility>
#include <variant>

namespace fourbeat {

/// Why a call could not be done. Every code has one English text (error_text).
enum class ErrorCode {
  bad_argument,     ///< a value given by the caller is outside its range
  bad_input,        ///< outside data breaks a rule of its format
  not_found,        ///< a file, entity or place does not exist
  not_a_file,       ///< a folder, FIFO, device or link where a regular file is needed
  not_audio,        ///< no audio format that is read here
  truncated,        ///< a file ends before its header says
  not_finite,       ///< NaN or infinity where a finite number is needed
  too_large,        ///< over a limit set against strangers' files
  too_deep,         ///< nested deeper than the limit
  too_short,        ///< not enough material
  newer_version,    ///< written by a newer Fourbeat
  locked,           ///< another writer has the project open
  changed,          ///< a take is not the file it was
  would_overwrite,  ///< an output would replace a take or an existing file
  no_space,         ///< the disk is full
  io_failed,        ///< the operating system refused
  in_use,           ///< an entity that others refer to cannot be removed
  refused,          ///< a gate said no (pack with error snags)
  not_available,    ///< this build lacks the feature
  cancelled,        ///< the user stopped it
  internal          ///< a defect in Fourbeat
};
inline constexpr int error_code_count = static_cast<int>(ErrorCode::internal) + 1;

/// What went wrong, in general words, and what mends it.
struct ErrorText {
  std::string_view what;
  std::string_view mend;
};

/// The English text of a code.
[[nodiscard]] ErrorText error_text(ErrorCode code);

/// One failed call. `file` and `place` may be empty where there is none.
struct Error {
  ErrorCode code = ErrorCode::internal;
  std::string file;    ///< the file, as the user named it, UTF-8
  std::string place;   ///< where in it: a JSON pointer, a frame, a line, an option
  std::string detail;  ///< what was found there, one line
  std::string mend;    ///< what the user can do; empty: the code's own mend
};

/// One clear line: file, place, what, detail, mend; control characters replaced.
[[nodiscard]] std::string to_line(const Error& error);

/// The value of a call or its Error. Member names follow std::expected (C++23).
template <class T>
class [[nodiscard]] Result {
 public:
  Result(T value)
      : state_(std::in_place_index<0>, std::move(value)) {
  }  // NOLINT(google-explicit-constructor): as std::expected
  Result(Error error)
      : state_(std::in_place_index<1>, std::move(error)) {
  }  // NOLINT(google-explicit-constructor): as std::expected

  [[nodiscard]] bool has_value() const { return state_.index() == 0; }
  [[nodiscard]] explicit operator bool() const { return has_value(); }
  [[nodiscard]] T& value() & { return get(); }
  [[nodiscard]] const T& value() const& { return get(); }
  [[nodiscard]] T&& value() && { return std::move(get()); }
  [[nodiscard]] T& operator*() & { return get(); }
  [[nodiscard]] const T& operator*() const& { return get(); }
  [[nodiscard]] T&& operator*() && { return std::move(get()); }
  [[nodiscard]] T* operator->() { return &get(); }
  [[nodiscard]] const T* operator->() const { return &get(); }
  [[nodiscard]] const Error& error() const {
    assert(!has_value());
    return *std::get_if<1>(&state_);
  }
  [[nodiscard]] T value_or(T fallback) const& { return has_value() ? get() : std::move(fallback); }

 private:
  [[nodiscard]] T& get() {
    assert(has_value());
    return *std::get_if<0>(&state_);
  }
  [[nodiscard]] const T& get() const {
    assert(has_value());
    return *std::get_if<0>(&state_);
  }
  std::variant<T, Error> state_;
};

/// A call that has nothing to return but may fail.
using Status = Result<std::monostate>;
inline Status ok() {
  return Status(std::monostate{});
}

}  // namespace fourbeat
