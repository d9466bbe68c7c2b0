// SPDX-License-Identifier: GPL-3.0-or-later
#include "json_text.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

#include <unordered_set>

namespace fourbeat::store {

namespace {

constexpr std::size_t line_columns = 100;

/// Line and column, both from 1, of the byte before `bytes`.
std::string line_and_column(std::string_view text, std::size_t bytes) {
  const std::size_t at = std::min(bytes == 0 ? 0 : bytes - 1, text.size());
  std::size_t line = 1;
  std::size_t column = 1;
  for (const char c : text.substr(0, at)) {
    if (c == '\n') {
      ++line;
      column = 1;
    } else if ((static_cast<unsigned char>(c) & 0xC0U) != 0x80U) {
      ++column;
    }
  }
  return fmt::format("line {}, column {}", line, column);
}

/// Builds a document from the library's events, and stops at the first breach of a limit.
class Builder final : public nlohmann::json_sax<Json> {
 public:
  explicit Builder(std::string_view text) : text_(text) {}

  bool null() override { return put(nullptr); }
  bool boolean(bool value) override { return put(value); }
  bool number_integer(number_integer_t value) override { return put(value); }
  bool number_unsigned(number_unsigned_t value) override { return put(value); }
  bool number_float(number_float_t value, const string_t& /*text*/) override { return put(value); }
  bool string(string_t& value) override { return put(std::move(value)); }
  bool binary(binary_t& /*value*/) override { return false; }  // no such thing in JSON text
  bool start_object(std::size_t /*count*/) override { return open(Json::object()); }
  bool start_array(std::size_t /*count*/) override { return open(Json::array()); }
  bool end_object() override { return close(); }
  bool end_array() override { return close(); }

  bool key(string_t& value) override {
    Level& level = levels_.back();
    if (!level.keys.insert(value).second) {
      error_ = {ErrorCode::bad_input,
                {},
                pointer() + "/" + escaped_level(value),
                "the member is there twice",
                "keep one of them"};
      return false;
    }
    level.key = value;
    return true;
  }

  bool parse_error(std::size_t position, const std::string& /*token*/,
                   const nlohmann::detail::exception& thrown) override {
    constexpr int number_overflow = 406;
    error_.place = line_and_column(text_, position);
    if (thrown.id == number_overflow) {
      error_.code = ErrorCode::not_finite;
      error_.detail = "the number is too large for a double";
      return false;
    }
    error_.code = ErrorCode::bad_input;
    const std::string_view message = thrown.what();
    const std::size_t reason = message.find("syntax error");
    error_.detail = position > text_.size()
                        ? "the text ends in the middle"
                        : std::string(message.substr(reason < message.size() ? reason : 0));
    return false;
  }

  [[nodiscard]] Json& document() { return document_; }
  [[nodiscard]] const Error& error() const { return error_; }

 private:
  struct Level {
    Json* json = nullptr;
    std::string key;                       ///< of the member being read
    std::unordered_set<std::string> keys;  ///< seen so far
  };

  /// The place being read.
  [[nodiscard]] std::string pointer() const {
    std::string text;
    for (std::size_t i = 0; i + 1 < levels_.size(); ++i) {
      text += levels_[i].json->is_array() ? fmt::format("/{}", levels_[i].json->size() - 1)
                                          : "/" + escaped_level(levels_[i].key);
    }
    return text;
  }

  Json* append(Json&& value) {
    if (++values_ > json_limit_values) {
      error_ = {
          ErrorCode::too_large, {}, {}, fmt::format("more than {} values", json_limit_values), {}};
      return nullptr;
    }
    if (levels_.empty()) {
      document_ = std::move(value);
      return &document_;
    }
    Level& level = levels_.back();
    if (level.json->is_array()) {
      level.json->push_back(std::move(value));
      return &level.json->back();
    }
    // Straight into the list of members: the keys are known to differ.
    auto& members = level.json->get_ref<Json::object_t&>();
    members.push_back({level.key, std::move(value)});
    return &members.back().second;
  }

  template <class T>
  bool put(T&& value) {
    return append(Json(std::forward<T>(value))) != nullptr;
  }

  bool open(Json&& value) {
    if (levels_.size() >= static_cast<std::size_t>(project_limit_depth)) {
      error_ = {
          ErrorCode::too_deep, {}, {}, fmt::format("more than {} levels", project_limit_depth), {}};
      return false;
    }
    Json* json = append(std::move(value));
    if (json == nullptr) return false;
    levels_.push_back({json, {}, {}});
    return true;
  }

  bool close() {
    levels_.pop_back();
    return true;
  }

  std::string_view text_;
  Json document_;
  std::vector<Level> levels_;
  std::int64_t values_ = 0;
  Error error_;
};

/// Appends the one-line form while it stays within `limit` characters; false beyond it.
bool append_line(const Json& json, std::size_t limit, std::string& out);

bool append_scalar(const Json& json, std::size_t limit, std::string& out) {
  if (json.is_number_float()) {
    std::string number = fmt::format("{}", json.get<double>());
    if (number.find_first_of(".e") == std::string::npos) number += ".0";
    out += number;
  } else {
    out += json.dump(-1, ' ', false, Json::error_handler_t::replace);
  }
  return out.size() <= limit;
}

bool append_key(const std::string& key, std::size_t limit, std::string& out) {
  return append_scalar(Json(key), limit, out) && (out += ": ").size() <= limit;
}

bool append_line(const Json& json, std::size_t limit, std::string& out) {
  if (!json.is_structured()) return append_scalar(json, limit, out);
  out += json.is_array() ? '[' : '{';
  bool first = true;
  for (auto item = json.begin(); item != json.end(); ++item) {
    if (!first) out += ", ";
    first = false;
    if (json.is_object() && !append_key(item.key(), limit, out)) return false;
    if (!append_line(*item, limit, out)) return false;
  }
  out += json.is_array() ? ']' : '}';
  return out.size() <= limit;
}

/// Appends `json`, whose first line already holds `column` characters.
void append_pretty(const Json& json, std::size_t level, std::size_t column, std::string& out) {
  const bool broken = level == 0 || (level == 1 && json.is_array());
  std::string line;
  const std::size_t room = line_columns > column ? line_columns - column : 0;
  if (!json.is_structured() || json.empty()) {
    append_line(json, std::string::npos, out);
    return;
  }
  if (!broken && append_line(json, room, line)) {
    out += line;
    return;
  }
  const std::string indent(2 * (level + 1), ' ');
  out += json.is_array() ? '[' : '{';
  bool first = true;
  for (auto item = json.begin(); item != json.end(); ++item) {
    out += first ? "\n" : ",\n";
    first = false;
    std::string key;
    if (json.is_object()) append_key(item.key(), std::string::npos, key);
    out += indent + key;
    // One column stays free for the comma.
    append_pretty(*item, level + 1, indent.size() + key.size() + 1, out);
  }
  out += '\n' + std::string(2 * level, ' ');
  out += json.is_array() ? ']' : '}';
}

}  // namespace

std::string escaped_level(std::string_view key) {
  std::string out;
  for (const char c : key) {
    if (c == '~') {
      out += "~0";
    } else if (c == '/') {
      out += "~1";
    } else {
      out += c;
    }
  }
  return out;
}

Result<Json> parse_json(std::string_view text, const std::string& file) {
  if (static_cast<std::int64_t>(text.size()) > project_limit_bytes) {
    return Error{ErrorCode::too_large, file, {}, fmt::format("{} bytes", text.size()), {}};
  }
  Builder builder(text);
  try {
    if (Json::sax_parse(text.begin(), text.end(), &builder)) return std::move(builder.document());
  } catch (const std::exception& thrown) {
    return Error{ErrorCode::bad_input, file, {}, thrown.what(), {}};
  }
  Error error = builder.error();
  error.file = file;
  return error;
}

std::string pretty_text(const Json& json) {
  std::string text;
  append_pretty(json, 0, 0, text);
  return text;
}

}  // namespace fourbeat::store
