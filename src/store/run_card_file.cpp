// SPDX-License-Identifier: GPL-3.0-or-later
#include "data_members.h"
#include "member_io.h"

#include "fourbeat/base/text.h"
#include "fourbeat/store/data_files.h"
#include "fourbeat/store/project_file.h"

namespace fourbeat::store {

namespace {

constexpr int card_version = 1;
constexpr std::array<std::string_view, 8> move_kinds{
    "throttle_step",  "key",  "direction", "cv", "load", "gradient_percent",
    "emergency_stop", "power"};

/// Moves are told apart by which member they have, so they are read here and not by Members.
class CardReader {
 public:
  Fault read(const Json& json, model::RunCard& card) const {
    constexpr std::array<std::string_view, 3> own{"format", "version", "moves"};
    Json rest = json;
    const auto moves = json.find("moves");
    rest.erase("moves");
    const Place document;
    if (Fault found = reader_.object(rest, card, document, own)) return found;
    if (card.speed_steps != 14 && card.speed_steps != 28 && card.speed_steps != 128) {
      return model::fault({&document, "speed_steps"}, fmt::format("is {}", card.speed_steps),
                          "give 14, 28 or 128");
    }
    const Place list{&document, "moves"};
    if (moves == json.end()) return std::nullopt;
    if (!moves->is_array()) return Reader::wrong(list, *moves, "a list");
    for (std::size_t i = 0; i < moves->size(); ++i) {
      model::Move move;
      if (Fault found = read_move((*moves)[i], card.speed_steps, move, {&list, {}, i})) {
        return found;
      }
      card.moves.push_back(move);
    }
    std::stable_sort(
        card.moves.begin(), card.moves.end(),
        [](const model::Move& a, const model::Move& b) { return a.time_s < b.time_s; });
    return std::nullopt;
  }

 private:
  Fault read_move(const Json& json, int speed_steps, model::Move& move, const Place& place) const {
    if (Fault found = reader_.object(json, move, place)) return found;
    std::string_view kind;
    for (const std::string_view name : move_kinds) {
      if (!json.contains(name)) continue;
      if (!kind.empty()) {
        return model::fault(place, fmt::format("has {} and {}", kind, name),
                            "let each move do one thing");
      }
      kind = name;
    }
    if (kind == "throttle_step") return throttle(json, speed_steps, move, place);
    if (kind == "key") return what<model::MoveKey>(json, move, place);
    if (kind == "direction") return direction(json["direction"], move, {&place, "direction"});
    if (kind == "cv") return what<model::MoveCv>(json, move, place);
    if (kind == "load") return what<model::MoveLoad>(json, move, place);
    if (kind == "gradient_percent") return what<model::MoveGradient>(json, move, place);
    if (kind == "power") return what<model::MovePower>(json, move, place);
    if (kind == "emergency_stop") return stop(json["emergency_stop"], move, {&place, kind});
    return model::fault(place, "does nothing",
                        fmt::format("give one of {}", fmt::join(move_kinds, ", ")));
  }

  template <class T>
  Fault what(const Json& json, model::Move& move, const Place& place) const {
    T value;
    Fault found = reader_.object(json, value, place);
    move.what = value;
    return found;
  }

  Fault throttle(const Json& json, int speed_steps, model::Move& move, const Place& place) const {
    if (Fault found = what<model::MoveThrottle>(json, move, place)) return found;
    const int step = std::get<model::MoveThrottle>(move.what).step;
    const int last = model::last_step(speed_steps);
    if (step <= last) return std::nullopt;
    return model::fault({&place, "throttle_step"}, fmt::format("is {}", step),
                        fmt::format("give 0 to {}", last));
  }

  static Fault direction(const Json& json, model::Move& move, const Place& place) {
    if (json != "forward" && json != "reverse") {
      return Reader::wrong(place, json, "\"forward\" or \"reverse\"");
    }
    move.what = model::MoveDirection{json == "forward"};
    return std::nullopt;
  }

  static Fault stop(const Json& json, model::Move& move, const Place& place) {
    if (json != true) return Reader::wrong(place, json, "true, or leave the move out");
    move.what = model::MoveStop{};
    return std::nullopt;
  }

  Reader reader_{Unknown::ignore};
};

/// What a move does, as its members.
struct MoveWriter {
  Json& json;
  void operator()(const model::MoveThrottle& move) const { json["throttle_step"] = move.step; }
  void operator()(const model::MoveKey& move) const {
    json["key"] = move.key;
    json["on"] = move.on;
  }
  void operator()(const model::MoveDirection& move) const {
    json["direction"] = move.forward ? "forward" : "reverse";
  }
  void operator()(const model::MoveCv& move) const {
    json["cv"] = move.cv;
    json["value"] = move.value;
  }
  void operator()(const model::MoveLoad& move) const { json["load"] = move.load; }
  void operator()(const model::MoveGradient& move) const {
    json["gradient_percent"] = move.gradient_percent;
  }
  void operator()(const model::MoveStop&) const { json["emergency_stop"] = true; }
  void operator()(const model::MovePower& move) const { json["power"] = move.on; }
};

}  // namespace

std::string run_card_text(const model::RunCard& card) {
  Json json;
  json["format"] = "fourbeat-runcard";
  json["version"] = card_version;
  json["title"] = card.title;
  json["seed"] = card.seed;
  json["seconds"] = card.seconds;
  json["speed_steps"] = card.speed_steps;
  json["moves"] = Json::array();
  for (const model::Move& move : card.moves) {
    Json& made = json["moves"].emplace_back();
    made["time_s"] = move.time_s;
    std::visit(MoveWriter{made}, move.what);
  }
  return pretty_text(json) + "\n";
}

Result<model::RunCard> parse_run_card(std::string_view text, const std::string& file) {
  const Result<Json> json = parse_json(text, file);
  if (!json) return json.error();
  if (const Result<int> version = read_header(*json, "fourbeat-runcard", card_version); !version) {
    return in_file(version.error(), file);
  }
  model::RunCard card;
  if (Fault found = CardReader().read(*json, card)) return in_file(*found, file);
  return card;
}

Result<model::RunCard> load_run_card(const std::filesystem::path& path) {
  const Result<std::string> text = read_text_file(path, project_limit_bytes);
  if (!text) return text.error();
  return parse_run_card(*text, path_text(path));
}

}  // namespace fourbeat::store
