// SPDX-License-Identifier: GPL-3.0-or-later
#include "finished_demo.h"
#include "support/catch.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/work/produce.h"
#include "fourbeat/work/session.h"
#include "fourbeat/work/standard_cards.h"
#include "fourbeat/work/trial.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <numbers>
#include <numeric>
#include <set>

/// Twins of the demo's set, driven by its own cards and the standard ones: every piece of sound
/// lasts as long as the demo's, but is a sine or an impulse.

using namespace fourbeat;
using drive::EventKind;

namespace {

constexpr int sine_hz = 200;
constexpr double amplitude = 0.25;
constexpr double longest_crossfade_s = 0.010;

enum class Role { chuff, shot, begin, hold, hold_alone, release };

bool holds(Role role) {
  return role == Role::hold || role == Role::hold_alone;
}

class DemoTwin {
 public:
  DemoTwin() {
    auto session = work::Session::open(demo::finished());
    REQUIRE(session);
    project_ = session->project();
    JobControl job;
    auto profile = work::profile_of(project_, "");
    REQUIRE(profile);
    profile_ = *profile;
    auto set = work::render_set(project_, session->folder(), job);
    REQUIRE(set);
    set_ = *std::move(set);
    for (const std::string& path : project_.run_cards) {
      auto card = work::load_listed_card(session->folder(), path);
      REQUIRE(card);
      cards_.emplace(path, *std::move(card));
    }
    for (work::StandardCard& card : work::standard_cards(project_))
      cards_.emplace(card.name, std::move(card.card));
    // Every voice at its full gain, so that one steady sine is the measure of all.
    for (model::Sound& sound : project_.sounds)
      sound.gain_db = 0.0;
    for (model::Key& key : project_.keys)
      key.gain_db = 0.0;
    project_.chuffs.gain_db = 0.0;
  }
  [[nodiscard]] int rate() const { return profile_.output_rate_hz; }
  [[nodiscard]] const model::Project& project() const { return project_; }
  [[nodiscard]] const std::map<std::string, model::RunCard>& cards() const { return cards_; }

  /// What a piece is to its sound.
  [[nodiscard]] Role role_of(const model::PieceKey& key) const {
    if (key.row.is_set()) {
      return key.revolution == model::fused_revolution ? Role::hold : Role::chuff;
    }
    for (const model::Sound& sound : project_.sounds) {
      if (sound.kind != model::SoundKind::held) continue;
      if (sound.begin == key.segment) return Role::begin;
      if (sound.hold == key.segment) return sound.begin.is_set() ? Role::hold : Role::hold_alone;
      if (sound.release == key.segment) return Role::release;
    }
    return Role::shot;
  }
  [[nodiscard]] std::map<std::string, Role> roles() const {
    std::map<std::string, Role> roles;
    for (const model::Piece& piece : set_.pieces)
      roles.emplace(piece.name, role_of(piece.key));
    return roles;
  }

  using Make = std::function<audio::Clip(Role, std::int64_t frames)>;
  [[nodiscard]] std::shared_ptr<const drive::CompiledSet> compile(const Make& make) const {
    std::vector<drive::PieceSound> sounds;
    for (std::size_t i = 0; i < set_.pieces.size(); ++i) {
      const audio::Clip& clip = set_.clips[i];
      const double seconds = static_cast<double>(clip.samples.size()) / clip.sample_rate_hz;
      sounds.push_back({set_.pieces[i].key,
                        make(role_of(set_.pieces[i].key), std::llround(seconds * rate())), 0.0});
    }
    auto set = drive::compile(project_, profile_, sounds);
    if (!set) FAIL(to_line(set.error()));
    return *std::move(set);
  }

 private:
  model::Project project_;
  model::DecoderProfile profile_;
  work::RenderedSet set_;
  std::map<std::string, model::RunCard> cards_;
};

const DemoTwin& twin() {
  static const DemoTwin made;
  return made;
}

drive::DriveOutput run(const std::shared_ptr<const drive::CompiledSet>& set,
                       const model::RunCard& card) {
  JobControl job;
  auto output = drive::drive(set, card, {}, job);
  if (!output) FAIL(to_line(output.error()));
  return *std::move(output);
}

/// A sine that rises over its first 10 ms and falls over its last, where its role does not have it
/// go on from, or into, another part.
audio::Clip sine_piece(Role role, std::int64_t frames) {
  const int rate = twin().rate();
  const std::int64_t edge = rate / 100;
  const std::int64_t whole_periods = rate / std::gcd(rate, sine_hz);
  audio::Clip clip;
  clip.sample_rate_hz = rate;
  if (holds(role)) {
    const std::int64_t loop = std::max<std::int64_t>(1, frames / whole_periods) * whole_periods;
    clip.loop = frame_range(edge, edge + loop);
    frames = edge + loop;
  }
  const bool rises = role != Role::hold && role != Role::release;
  const bool falls = !holds(role) && role != Role::begin;
  for (std::int64_t i = 0; i < frames; ++i) {
    const auto smooth = [&](std::int64_t from_edge) {
      const double place =
          std::min(1.0, static_cast<double>(from_edge) / static_cast<double>(edge));
      return place * place * (3.0 - 2.0 * place);
    };
    double level = amplitude;
    if (rises) level *= smooth(i);
    if (falls) level *= smooth(frames - i);
    const double turns = static_cast<double>(i) * sine_hz / rate;
    clip.samples.push_back(static_cast<float>(level * std::sin(2.0 * std::numbers::pi * turns)));
  }
  return clip;
}

/// The largest second difference, and where.
struct Bend {
  double most = 0.0;
  std::size_t frame = 0;
};
Bend largest_bend(const std::vector<float>& samples) {
  Bend found;
  for (std::size_t i = 1; i + 1 < samples.size(); ++i) {
    const double bend = std::abs(static_cast<double>(samples[i + 1]) - 2.0 * samples[i] +
                                 static_cast<double>(samples[i - 1]));
    if (bend > found.most) found = {bend, i};
  }
  return found;
}

/// Frames after a voice's start at which its impulse sounds: what may be faded in has it where the
/// fade has come to something.
std::int64_t impulse_at(Role role) {
  if (role == Role::chuff || role == Role::shot) return 0;
  return std::llround(2.0 * longest_crossfade_s * twin().rate());
}

audio::Clip impulse_piece(Role role, std::int64_t frames) {
  audio::Clip clip;
  clip.sample_rate_hz = twin().rate();
  const std::int64_t at = impulse_at(role);
  frames = std::max(frames, 2 * at + 1);
  clip.samples.resize(static_cast<std::size_t>(frames));
  clip.samples[static_cast<std::size_t>(at)] = 1.0F;
  if (holds(role)) clip.loop = frame_range(frames - at / 2, frames);  // of silence
  return clip;
}

/// The frames of a WAV that are not silent.
std::set<std::int64_t> heard_in(const drive::DriveOutput& output,
                                const std::filesystem::path& wav) {
  JobControl job;
  REQUIRE(work::write_drive(twin().project(), wav.parent_path(), output, wav, {}, job));
  auto reader = audio::SoundFileReader::open(wav);
  REQUIRE(reader);
  const auto read = reader->read({FrameIndex(0), FrameIndex(0) + reader->info().frames});
  REQUIRE(read);
  const std::vector<float>& samples = read->channels.front();
  REQUIRE(samples.size() == output.mix.size());
  std::set<std::int64_t> frames;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    if (samples[i] != 0.0F) frames.insert(static_cast<std::int64_t>(i));
  }
  std::filesystem::remove(wav);
  return frames;
}

}  // namespace

TEST_CASE("demo twin of sines: stops, steals, gains, hand-overs and rows bend nothing",
          "[demo][deep]") {
  const auto set = twin().compile(sine_piece);
  // Steady: one voice's sine at its full gain.
  const double step = 2.0 * std::numbers::pi * sine_hz / twin().rate();
  const double steady = amplitude * 2.0 * (1.0 - std::cos(step));
  int steals = 0;
  int hand_overs = 0;
  std::set<std::int64_t> rows;
  for (const auto& [name, card] : twin().cards()) {
    const auto output = run(set, card);
    const Bend bend = largest_bend(output.mix);
    INFO(name << ": at " << static_cast<double>(bend.frame) / twin().rate() << " s "
              << bend.most / steady << " times a voice's, " << output.voices_peak << " voices");
    CHECK(output.largest_sample > 0.9 * amplitude);
    CHECK(bend.most <= 4.0 * output.voices_peak * steady);
    for (const drive::Event& event : output.events) {
      if (event.kind == EventKind::beat && event.row.is_set()) rows.insert(event.row.value());
      if (event.kind != EventKind::voice_end) continue;
      if (event.reason == "stolen") ++steals;
      if (event.reason == "handed_over" || event.reason == "released") ++hand_overs;
    }
  }
  CHECK(steals > 0);
  CHECK(hand_overs > 20);
  CHECK(rows.size() > 3);
}

TEST_CASE("demo twin of impulses: every beat and every voice is on its logged frame in the WAV",
          "[demo][deep]") {
  const tests::TempFolder folder;
  const auto set = twin().compile(impulse_piece);
  const std::map<std::string, Role> roles = twin().roles();
  for (const auto& [name, card] : twin().cards()) {
    INFO(name);
    const auto output = run(set, card);
    const std::set<std::int64_t> heard = heard_in(output, folder / "twin.wav");
    std::set<std::int64_t> told;
    std::set<std::int64_t> chuffs;
    std::set<std::int64_t> silent;    // of what found no voice, and said so
    std::map<int, std::int64_t> due;  // by voice: when its impulse comes
    int onsets = 0;
    for (const drive::Event& event : output.events) {
      if (event.reason == "no_voice") silent.insert(event.frame);
      if (event.kind == EventKind::voice_end && event.number >= 0) {
        const auto open = due.find(event.number);
        if (open == due.end()) continue;
        if (event.frame > open->second) {
          INFO(event.text << " at frame " << open->second);
          REQUIRE(heard.count(open->second) == 1);
          ++onsets;
        }
        due.erase(open);
      }
      if (event.kind != EventKind::voice_start) continue;
      due[event.number] = event.frame + impulse_at(roles.at(event.text));
      told.insert(due[event.number]);
      if (event.reason == "beat") chuffs.insert(event.frame);
    }
    // And nothing else is heard.
    for (const std::int64_t frame : heard) {
      INFO("frame " << frame);
      REQUIRE(told.count(frame) == 1);
    }
    for (const drive::Event& event : output.events) {
      if (event.kind != EventKind::beat || !event.row.is_set()) continue;
      if (model::find(twin().project(), event.row)->fused) continue;
      INFO("beat at frame " << event.frame);
      REQUIRE(chuffs.count(event.frame) + silent.count(event.frame) > 0);
    }
    CHECK(onsets > 10);
  }
}
