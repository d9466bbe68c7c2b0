// SPDX-License-Identifier: GPL-3.0-or-later
#include "digits.h"
#include "manifest.h"
#include "names.h"

#include "fourbeat/base/text.h"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <cmath>

namespace fourbeat::deliver {

namespace {

using Ordered = nlohmann::ordered_json;
using Json = nlohmann::json;

constexpr int deepest = 64;
constexpr std::int64_t whole_limit = 9'007'199'254'740'991;  // 2^53 - 1, RFC 8259 section 6
constexpr std::string_view invented_note =
    "This decoder class is invented: it stands for no product. Its figures are a budget to design "
    "for, not a data sheet.";

// Writing ---------------------------------------------------------------------------------------

Ordered engine_json(const model::Engine& engine) {
  Ordered angles = Ordered::array();
  for (const double angle : model::beat_angles_deg(engine))
    angles.push_back(rounded(angle, 4));
  return {{"name", engine.name},
          {"driver_diameter_mm", engine.driver_diameter_mm},
          {"beats_per_rev", engine.beats_per_rev},
          {"beat_angles_deg", angles},
          {"top_speed_kmh", engine.top_speed_kmh}};
}

Ordered decoder_json(const model::DecoderProfile& decoder) {
  Ordered json{{"id", decoder.id}, {"name", decoder.name}, {"invented", decoder.invented}};
  if (decoder.invented) json["note"] = invented_note;
  json["memory_bytes"] = decoder.memory_bytes;
  json["fixed_bytes"] = decoder.fixed_bytes;
  json["sector_bytes"] = decoder.sector_bytes;
  json["overhead_bytes"] = decoder.overhead_bytes;
  json["voices"] = decoder.voices;
  json["output_rate_hz"] = decoder.output_rate_hz;
  json["sample_rates_hz"] = decoder.sample_rates_hz;
  json["bits"] = decoder.bits;
  json["highest_key"] = decoder.highest_key;
  json["max_sounds"] = decoder.max_sounds;
  json["chuffs_may_overlap"] = decoder.chuffs_may_overlap;
  json["has_playback_gain"] = decoder.has_playback_gain;
  json["loop"] = {{"min_frames", decoder.loop.min_frames},
                  {"multiple_of_frames", decoder.loop.multiple_of_frames}};
  return json;
}

Ordered sound_json(const ManifestSound& sound) {
  Ordered loop = nullptr;
  if (sound.loop) {
    loop = {{"start_frame", sound.loop->start.value()}, {"end_frame", sound.loop->end.value()}};
  }
  Ordered keys = Ordered::array();
  for (const int key : sound.keys)
    keys.push_back(fmt::format("F{}", key));
  Ordered chuffs = Ordered::array();
  for (const ChuffUse& use : sound.chuffs) {
    Ordered recorded_kmh = nullptr;
    if (use.recorded_kmh) recorded_kmh = *use.recorded_kmh;
    chuffs.push_back({{"row", use.row},
                      {"revolution", use.revolution},
                      {"position", use.position},
                      {"condition", use.condition},
                      {"recorded_kmh", recorded_kmh}});
  }
  return {{"name", sound.name},
          {"file", sound.file},
          {"sha256", sound.sha256},
          {"category", sound.category},
          {"sample_rate_hz", sound.sample_rate_hz},
          {"bits", sound.bits},
          {"file_bits", sound.file_bits},
          {"frames", sound.frames},
          {"bytes", sound.bytes},
          {"playback_gain_db", sound.playback_gain_db},
          {"loop", loop},
          {"used_by", {{"sounds", sound.sounds}, {"keys", keys}, {"chuffs", chuffs}}}};
}

Ordered snag_json(const check::Snag& snag) {
  constexpr std::array words{"error", "warning", "hint"};
  return {{"rule", snag.rule},
          {"severity", words.at(static_cast<std::size_t>(snag.severity))},
          {"where", {{"pointer", snag.pointer}, {"label", snag.label}}},
          {"message", snag.message},
          {"mend", snag.mend}};
}

// Reading ---------------------------------------------------------------------------------------

/// Thrown inside this file only; parse_manifest() turns it into an Error.
struct Fault {
  std::string place;
  std::string detail;
};

/// A JSON object and where it stands; its readers throw Fault.
class Reader {
 public:
  Reader(const Json& json, std::string place) : json_(json), place_(std::move(place)) {
    if (!json_.is_object()) throw Fault{place_, "an object is wanted here"};
  }

  [[nodiscard]] const Json& at(const char* key) const {
    const auto found = json_.find(key);
    if (found == json_.end()) throw Fault{place(key), "it is missing"};
    return *found;
  }
  [[nodiscard]] std::string place(const char* key) const { return place_ + "/" + key; }
  [[nodiscard]] Reader object(const char* key) const { return {at(key), place(key)}; }

  [[nodiscard]] std::string text(const char* key) const {
    const Json& value = at(key);
    if (!value.is_string()) throw Fault{place(key), "a text is wanted here"};
    return value.get<std::string>();
  }
  [[nodiscard]] bool flag(const char* key) const {
    const Json& value = at(key);
    if (!value.is_boolean()) throw Fault{place(key), "true or false is wanted here"};
    return value.get<bool>();
  }
  [[nodiscard]] std::int64_t whole(const char* key, std::int64_t low, std::int64_t high) const {
    return whole_of(at(key), place(key), low, high);
  }
  [[nodiscard]] int small(const char* key, int low, int high) const {
    return static_cast<int>(whole(key, low, high));
  }
  [[nodiscard]] double number(const char* key, double low, double high) const {
    return number_of(at(key), place(key), low, high);
  }
  /// Calls each(item, place) for every item of an array.
  template <class Each>
  void items(const char* key, const Each& each) const {
    const Json& list = at(key);
    if (!list.is_array()) throw Fault{place(key), "a list is wanted here"};
    for (std::size_t i = 0; i < list.size(); ++i)
      each(list[i], fmt::format("{}/{}", place(key), i));
  }

  static std::int64_t whole_of(const Json& value, const std::string& place, std::int64_t low,
                               std::int64_t high) {
    // A larger unsigned number would change its sign on the way.
    const bool fits = value.is_number_integer() &&
                      !(value.is_number_unsigned() &&
                        value.get<std::uint64_t>() > static_cast<std::uint64_t>(whole_limit));
    const std::int64_t number = fits ? value.get<std::int64_t>() : 0;
    if (!fits || number < low || number > high) {
      throw Fault{place, fmt::format("a whole number from {} to {} is wanted here", low, high)};
    }
    return number;
  }
  static double number_of(const Json& value, const std::string& place, double low, double high) {
    const double number = value.is_number() ? value.get<double>() : NAN;
    if (!(number >= low && number <= high)) {
      throw Fault{place, fmt::format("a number from {} to {} is wanted here", low, high)};
    }
    return number;
  }
  static std::string text_of(const Json& value, const std::string& place) {
    if (!value.is_string()) throw Fault{place, "a text is wanted here"};
    return value.get<std::string>();
  }

 private:
  const Json& json_;
  std::string place_;
};

model::Engine read_engine(const Reader& in) {
  model::Engine engine;
  engine.name = in.text("name");
  engine.driver_diameter_mm = in.number("driver_diameter_mm", 300.0, 3000.0);
  engine.beats_per_rev = in.small("beats_per_rev", 1, 16);
  engine.top_speed_kmh = in.number("top_speed_kmh", 1.0, 300.0);
  in.items("beat_angles_deg", [&](const Json& angle, const std::string& place) {
    engine.beat_angles_deg.push_back(Reader::number_of(angle, place, 0.0, 360.0));
  });
  return engine;
}

model::DecoderProfile read_decoder(const Reader& in) {
  model::DecoderProfile decoder;
  decoder.id = in.text("id");
  decoder.name = in.text("name");
  decoder.invented = in.flag("invented");
  decoder.memory_bytes = in.whole("memory_bytes", 0, whole_limit);
  decoder.fixed_bytes = in.whole("fixed_bytes", 0, std::int64_t{1} << 40U);
  decoder.sector_bytes = in.whole("sector_bytes", 1, std::int64_t{1} << 30U);
  decoder.overhead_bytes = in.whole("overhead_bytes", 0, std::int64_t{1} << 30U);
  decoder.voices = in.small("voices", 1, 1024);
  decoder.output_rate_hz = in.small("output_rate_hz", 1, 768'000);
  in.items("sample_rates_hz", [&](const Json& rate, const std::string& place) {
    decoder.sample_rates_hz.push_back(static_cast<int>(Reader::whole_of(rate, place, 1, 768'000)));
  });
  in.items("bits", [&](const Json& bits, const std::string& place) {
    decoder.bits.push_back(static_cast<int>(Reader::whole_of(bits, place, 1, 24)));
  });
  decoder.highest_key = in.small("highest_key", 0, 68);
  decoder.max_sounds = in.small("max_sounds", 0, 1'000'000);
  decoder.chuffs_may_overlap = in.flag("chuffs_may_overlap");
  decoder.has_playback_gain = in.flag("has_playback_gain");
  const Reader loop = in.object("loop");
  decoder.loop.min_frames = loop.whole("min_frames", 1, std::int64_t{1} << 40U);
  decoder.loop.multiple_of_frames = loop.whole("multiple_of_frames", 1, std::int64_t{1} << 40U);
  return decoder;
}

int read_key(const std::string& text, const std::string& place) {
  const std::optional<double> number =
      text.size() > 1 && text.front() == 'F' ? parse_number(text.substr(1)) : std::nullopt;
  if (!number || *number < 0.0 || *number > 68.0 || *number != std::floor(*number)) {
    throw Fault{place, "a key F0 to F68 is wanted here"};
  }
  return static_cast<int>(*number);
}

ManifestSound read_sound(const Reader& in) {
  ManifestSound sound;
  sound.name = in.text("name");
  if (!is_our_name(sound.name)) throw Fault{in.place("name"), "a name of a-z, 0-9, _ and -"};
  sound.file = in.text("file");
  if (sound.file != sound_file(sound.name)) {
    throw Fault{in.place("file"), fmt::format("\"{}\" is wanted here", sound_file(sound.name))};
  }
  sound.sha256 = in.text("sha256");
  sound.category = in.text("category");
  sound.sample_rate_hz = in.small("sample_rate_hz", 1, 768'000);
  sound.bits = in.small("bits", 1, 24);
  sound.file_bits = in.small("file_bits", 8, 24);
  if (sound.file_bits != file_bits_of(sound.bits)) {
    throw Fault{in.place("file_bits"),
                fmt::format("{} bits are in a file of {}", sound.bits, file_bits_of(sound.bits))};
  }
  sound.frames = in.whole("frames", 0, std::int64_t{1} << 32U);
  sound.bytes = in.whole("bytes", 0, std::int64_t{1} << 40U);
  sound.playback_gain_db = in.number("playback_gain_db", -1000.0, 1000.0);
  if (!in.at("loop").is_null()) {
    const Reader loop = in.object("loop");
    const std::int64_t start = loop.whole("start_frame", 0, sound.frames);
    const std::int64_t end = loop.whole("end_frame", 0, sound.frames);
    if (end <= start) throw Fault{in.place("loop"), "it ends before it starts"};
    sound.loop = frame_range(start, end);
  }
  const Reader used = in.object("used_by");
  used.items("sounds", [&](const Json& name, const std::string& place) {
    sound.sounds.push_back(Reader::text_of(name, place));
  });
  used.items("keys", [&](const Json& key, const std::string& place) {
    sound.keys.push_back(read_key(Reader::text_of(key, place), place));
  });
  used.items("chuffs", [&](const Json& item, const std::string& place) {
    const Reader use(item, place);
    ChuffUse read{use.small("row", 1, 1'000'000),
                  use.small("revolution", 0, 1'000'000),
                  use.small("position", 0, 16),
                  use.text("condition"),
                  {}};
    if (!use.at("recorded_kmh").is_null()) {
      read.recorded_kmh = use.number("recorded_kmh", 0.0, 10'000.0);
    }
    sound.chuffs.push_back(std::move(read));
  });
  return sound;
}

check::Snag read_snag(const Reader& in) {
  check::Snag snag;
  snag.rule = in.text("rule");
  const std::string severity = in.text("severity");
  if (severity != "warning" && severity != "hint") {
    throw Fault{in.place("severity"), "\"warning\" or \"hint\" is wanted here"};
  }
  snag.severity = severity == "hint" ? check::Severity::hint : check::Severity::warning;
  const Reader where = in.object("where");
  snag.pointer = where.text("pointer");
  snag.label = where.text("label");
  snag.message = in.text("message");
  snag.mend = in.text("mend");
  return snag;
}

Manifest read_manifest(const Json& json) {
  const Reader in(json, {});
  Manifest manifest;
  const Reader generator = in.object("generator");
  manifest.generator_name = generator.text("name");
  manifest.generator_version = generator.text("version");
  manifest.title = in.text("title");
  manifest.author = in.text("author");
  manifest.date = in.text("date");
  manifest.engine = read_engine(in.object("engine"));
  manifest.decoder = read_decoder(in.object("decoder"));
  const Reader budget = in.object("budget");
  manifest.bytes_used = budget.whole("bytes_used", 0, whole_limit);
  manifest.bytes_available = budget.whole("bytes_available", 0, whole_limit);
  in.items("sounds", [&](const Json& item, const std::string& place) {
    manifest.sounds.push_back(read_sound({item, place}));
  });
  in.items("unsigned_seams", [&](const Json& item, const std::string& place) {
    manifest.unsigned_seams.push_back(Reader::text_of(item, place));
  });
  in.items("snags", [&](const Json& item, const std::string& place) {
    manifest.snags.push_back(read_snag({item, place}));
  });
  return manifest;
}

/// Levels of brackets outside texts; stops counting once there are more than `limit`.
int depth_of(std::string_view text, int limit) {
  int depth = 0;
  int most = 0;
  bool inside = false;
  for (std::size_t i = 0; i < text.size() && most <= limit; ++i) {
    const char c = text[i];
    if (inside && c == '\\') {
      ++i;
    } else if (c == '"') {
      inside = !inside;
    } else if (!inside && (c == '{' || c == '[')) {
      most = std::max(most, ++depth);
    } else if (!inside && (c == '}' || c == ']')) {
      --depth;
    }
  }
  return most;
}

Error fault(ErrorCode code, std::string place, const std::string& detail) {
  return Error{code, std::string(manifest_name), std::move(place), printable(detail), {}};
}

}  // namespace

std::string manifest_text(const Manifest& manifest) {
  Ordered sounds = Ordered::array();
  for (const ManifestSound& sound : manifest.sounds)
    sounds.push_back(sound_json(sound));
  Ordered snags = Ordered::array();
  for (const check::Snag& snag : manifest.snags)
    snags.push_back(snag_json(snag));
  const Ordered json{
      {"format", "fourbeat-bundle"},
      {"version", bundle_version},
      {"generator", {{"name", manifest.generator_name}, {"version", manifest.generator_version}}},
      {"title", manifest.title},
      {"author", manifest.author},
      {"date", manifest.date},
      {"engine", engine_json(manifest.engine)},
      {"decoder", decoder_json(manifest.decoder)},
      {"budget",
       {{"bytes_used", manifest.bytes_used}, {"bytes_available", manifest.bytes_available}}},
      {"sounds", sounds},
      {"unsigned_seams", manifest.unsigned_seams},
      {"snags", snags}};
  return json.dump(2, ' ', false, Ordered::error_handler_t::replace) + "\n";
}

Result<Manifest> parse_manifest(std::string_view text) {
  if (depth_of(text, deepest) > deepest) {
    return fault(ErrorCode::too_deep, {}, fmt::format("the limit is {} levels", deepest));
  }
  try {
    const Json json = Json::parse(text);
    if (!json.is_object() || json.value("format", Json()) != "fourbeat-bundle") {
      return fault(ErrorCode::bad_input, "/format", "\"fourbeat-bundle\" is wanted here");
    }
    const std::int64_t version =
        Reader::whole_of(json.value("version", Json()), "/version", 1, whole_limit);
    if (version > bundle_version) {
      return fault(ErrorCode::newer_version, "/version", fmt::format("version {}", version));
    }
    return read_manifest(json);
  } catch (const Fault& found) {
    return fault(ErrorCode::bad_input, found.place, found.detail);
  } catch (const Json::parse_error& found) {
    return fault(ErrorCode::bad_input, fmt::format("byte {}", found.byte), "no JSON from here on");
  } catch (const Json::exception& found) {
    return fault(ErrorCode::bad_input, {}, found.what());
  }
}

}  // namespace fourbeat::deliver
