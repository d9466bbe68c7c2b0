// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"
#include "fourbeat/model/project.h"

#include <memory>
#include <optional>
#include <string>
#include <type_traits>
#include <utility>
#include <vector>

namespace fourbeat::model {

/// Edits are values. apply() performs one and returns its inverse; on error the project is as it
/// was. T is one of Take, Pass, Mark, Segment, Sound, ChuffRow, Key, OwnState, Trigger,
/// Layer, Option, Cv, Verdict.

/// Adds an entity. An unset id is drawn from the project's counter. `at`: its place in the list;
/// the end when none. Refused: the id exists, a reference inside leads nowhere.
template <class T>
struct Add {
  T value;
  std::optional<std::size_t> at;
  bool operator==(const Add&) const = default;
};
/// Removes an entity. Refused (in_use) while others refer to it; the verdicts on a chuff row's loop
/// go with the row.
template <class T>
struct Remove {
  Id<T> id;
  bool operator==(const Remove&) const = default;
};
/// Replaces an entity by another value of the same id.
template <class T>
struct Replace {
  T value;
  bool operator==(const Replace&) const = default;
};

struct SetTitle {
  std::string title;
  bool operator==(const SetTitle&) const = default;
};
struct SetAuthor {
  std::string author;
  bool operator==(const SetAuthor&) const = default;
};
struct SetDate {
  std::string date;
  bool operator==(const SetDate&) const = default;
};
struct SetDecoder {
  std::string decoder;
  bool operator==(const SetDecoder&) const = default;
};
struct SetSpeaker {
  std::optional<Speaker> speaker;
  bool operator==(const SetSpeaker&) const = default;
};
struct SetUserNotes {
  std::string markdown;
  bool operator==(const SetUserNotes&) const = default;
};
struct SetEngine {
  Engine engine;
  bool operator==(const SetEngine&) const = default;
};
struct SetDriving {
  Driving driving;
  bool operator==(const SetDriving&) const = default;
};
struct SetDuties {
  std::optional<Duties> duties;
  bool operator==(const SetDuties&) const = default;
};
struct SetRunCards {
  std::vector<std::string> paths;
  bool operator==(const SetRunCards&) const = default;
};
struct SetRights {
  Id<Pass> pass;
  std::optional<Rights> rights;
  bool operator==(const SetRights&) const = default;
};
struct TrimSegment {
  Id<Segment> segment;
  FrameRange range;
  bool operator==(const TrimSegment&) const = default;
};
struct SetSegmentGain {
  Id<Segment> segment;
  double gain_db = 0.0;
  bool operator==(const SetSegmentGain&) const = default;
};
struct SetLoop {
  Id<Segment> segment;
  std::optional<Loop> loop;
  bool operator==(const SetLoop&) const = default;
};
struct SetSoundGain {
  Id<Sound> sound;
  double gain_db = 0.0;
  bool operator==(const SetSoundGain&) const = default;
};
/// The whole table at once, as `chuffs` builds it; row ids that are unset are drawn. Verdicts on
/// the loops of rows that are gone go with them.
struct SetChuffTable {
  ChuffTable table;
  bool operator==(const SetChuffTable&) const = default;
};
/// The value of a CV number: changes the entry, or adds one.
struct SetCv {
  int number = 0;
  int value = 0;
  bool operator==(const SetCv&) const = default;
};

struct EditGroup;

/// The kinds of edits, each once.
template <class... Kind>
struct EditKindList {
  template <class T>
  static constexpr bool has = (std::is_same_v<T, Kind> || ...);
  template <template <class...> class Of>
  using In = Of<Kind...>;
};
using EditKinds = EditKindList<
    Add<Take>, Remove<Take>, Replace<Take>, Add<Pass>, Remove<Pass>, Replace<Pass>, Add<Mark>,
    Remove<Mark>, Replace<Mark>, Add<Segment>, Remove<Segment>, Replace<Segment>, Add<Sound>,
    Remove<Sound>, Replace<Sound>, Add<ChuffRow>, Remove<ChuffRow>, Replace<ChuffRow>, Add<Key>,
    Remove<Key>, Replace<Key>, Add<OwnState>, Remove<OwnState>, Replace<OwnState>, Add<Trigger>,
    Remove<Trigger>, Replace<Trigger>, Add<Layer>, Remove<Layer>, Replace<Layer>, Add<Option>,
    Remove<Option>, Replace<Option>, Add<Cv>, Remove<Cv>, Replace<Cv>, Add<Verdict>,
    Remove<Verdict>, Replace<Verdict>, SetTitle, SetAuthor, SetDate, SetDecoder, SetSpeaker,
    SetUserNotes, SetEngine, SetDriving, SetDuties, SetRunCards, SetRights, TrimSegment,
    SetSegmentGain, SetLoop, SetSoundGain, SetChuffTable, SetCv, EditGroup>;
template <class T>
concept EditKind = EditKinds::has<T>;

/// A variant of all kinds, for the few that look into an edit: edit_value.h. Everyone else passes
/// edits on, and is spared its compilation.
struct EditValue;

/// One edit of any kind: a value that nothing changes, so that copies share it. Made of nothing it
/// is an empty group.
class Edit {
 public:
  Edit();
  template <EditKind T>
  Edit(T kind);  // NOLINT(google-explicit-constructor): an edit is one of its kinds
  explicit Edit(std::shared_ptr<const EditValue> value) : value_(std::move(value)) {}
  [[nodiscard]] const EditValue& value() const { return *value_; }
  bool operator==(const Edit& other) const;

 private:
  std::shared_ptr<const EditValue> value_;
};

/// Several edits as one: all or nothing, undone in reverse order.
struct EditGroup {
  std::vector<Edit> edits;
  bool operator==(const EditGroup&) const = default;
};

/// Performs `edit`. Returns the edit that undoes it. The id counter never goes back, so an id is
/// never reused; everything else is exactly as before once the inverse is applied.
/// To redo, apply the inverse of the inverse: it brings the drawn ids back, `edit` would draw new
/// ones.
/// Errors: not_found, bad_argument and not_finite (place: the JSON Pointer of the member, or which
/// edit of a group), in_use (detail names the users). On error nothing changed.
[[nodiscard]] Result<Edit> apply(Project& project, const Edit& edit);

/// The id that the last Add or group drew, for callers that build on it: next_id - 1.
template <class T>
[[nodiscard]] Id<T> last_drawn(const Project& project) {
  return Id<T>(project.next_id - 1);
}

}  // namespace fourbeat::model
