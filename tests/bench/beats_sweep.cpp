// SPDX-License-Identifier: GPL-3.0-or-later
#include "aubio_onsets.h"
#include "support/field_score.h"
#include "support/field_take.h"

#include "fourbeat/base/text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

/// The table of docs/beats.md: every condition of the field takes, Fourbeat beside aubio.
///   beats_sweep FIRST_SEED LAST_SEED [--peer] [--each] [CONDITION]

namespace {

using namespace fourbeat;
using namespace fourbeat::tests;

struct Options {
  std::uint64_t first = 1;
  std::uint64_t last = 3;
  bool peer = false;
  bool each = false;  ///< a line a take
  std::string only;   ///< part of a condition's name
};

/// One condition over its seeds.
struct Row {
  FieldScore plain;   ///< no hints
  FieldScore hinted;  ///< diameter, beats a revolution and top speed known
  std::vector<double> speed_errors;
  std::map<std::string, FieldScore> peers;
  double seconds = 0.0;
};

dsp::ChannelBeats track_of(const FieldTake& take, const dsp::BeatHints& hints) {
  JobControl job;
  std::vector<dsp::MemorySource> sources(take.channels.begin(), take.channels.end());
  std::vector<dsp::SampleSource*> channels;
  channels.reserve(sources.size());
  for (dsp::MemorySource& source : sources)
    channels.push_back(&source);
  auto beats = dsp::track_best_channel(channels, take.sample_rate_hz, hints, job);
  if (!beats) std::exit(1);
  return *std::move(beats);
}

/// How the sum of all microphones does, and each alone, against the nearest one's times.
void print_microphones(const FieldTake& take, std::size_t chosen) {
  std::vector<float> mix(take.channels.front().size(), 0.0F);
  for (const std::vector<float>& channel : take.channels)
    for (std::size_t i = 0; i < mix.size(); ++i)
      mix[i] += channel[i] / static_cast<float>(take.channels.size());
  JobControl job;
  const auto f_of = [&](audio::MonoView samples, std::size_t channel) {
    const auto track = dsp::track_beats(samples, take.sample_rate_hz, {}, job);
    return track ? score_field(take, channel, times_of(*track)).f_measure() : 0.0;
  };
  const auto nearest = static_cast<std::size_t>(
      std::min_element(take.delays_s.begin(), take.delays_s.end()) - take.delays_s.begin());
  fmt::print("    chosen: {}, nearest: {}; mix: F {:.3f}", chosen, nearest, f_of(mix, nearest));
  for (std::size_t c = 0; c < take.channels.size(); ++c)
    fmt::print(", {} alone: {:.3f}", c, f_of(take.channels[c], c));
  fmt::print("\n");
}

void add_peers(Row& row, const FieldTake& take, std::size_t channel) {
  // Half the least interval of the express takes; else aubio's own 50 ms.
  const double least_s = take.condition == FieldCondition::express ? 0.012 : 0.05;
  for (const char* method : aubio_methods) {
    for (const double threshold : {0.0, 0.6}) {
      const std::string name =
          threshold > 0.0 ? fmt::format("{} {}", method, threshold) : std::string(method);
      row.peers[name].add(score_field(
          take, channel,
          aubio_onsets(take.channels[channel], take.sample_rate_hz, method, threshold, least_s)));
    }
  }
}

void measure(Row& row, FieldCondition condition, std::uint64_t seed, const Options& options) {
  const FieldTake take = field_take(condition, seed);
  const dsp::ChannelBeats plain = track_of(take, {});
  const dsp::ChannelBeats hinted = track_of(take, hints_of(take));
  const std::size_t channel = plain.channel;
  const FieldScore score = score_field(take, channel, times_of(plain.track));
  const FieldScore with_hints = score_field(take, hinted.channel, times_of(hinted.track));
  const std::vector<double> speeds = speed_errors(take, hinted.track);
  if (options.each) {
    fmt::print(
        "  seed {} ({} Hz): F {:.3f} ({} of {}, {} found), hints {:.3f}, timing {:.1f} ms, "
        "speed {:.2f} %\n",
        seed, take.sample_rate_hz, score.f_measure(), score.hits, score.wanted, score.found,
        with_hints.f_measure(), 1000.0 * median_of(with_hints.errors_s), 100.0 * median_of(speeds));
    if (take.channels.size() > 1) print_microphones(take, channel);
  }
  row.plain.add(score);
  row.hinted.add(with_hints);
  row.speed_errors.insert(row.speed_errors.end(), speeds.begin(), speeds.end());
  row.seconds += static_cast<double>(take.channels[channel].size()) / take.sample_rate_hz;
  if (options.peer && condition != FieldCondition::standing) add_peers(row, take, channel);
}

void print_row(FieldCondition condition, const Row& row) {
  std::string line = fmt::format("| {} |", name_of(condition));
  const auto per_ten_minutes = [&](const FieldScore& score) {
    return fmt::format(" {:.1f} false |", static_cast<double>(score.found) * 600.0 / row.seconds);
  };
  const bool none = row.plain.wanted == 0;
  for (const FieldScore* score : {&row.plain, &row.hinted})
    line += none ? per_ten_minutes(*score) : fmt::format(" {:.3f} |", score->f_measure());
  line += none ? std::string(" | |")
               : fmt::format(" {:.1f} | {:.2f} |", 1000.0 * median_of(row.hinted.errors_s),
                             100.0 * median_of(row.speed_errors));
  const std::pair<const std::string, FieldScore>* best = nullptr;
  for (const auto& peer : row.peers) {
    const bool better =
        best == nullptr || (none ? peer.second.found < best->second.found
                                 : peer.second.f_measure() > best->second.f_measure());
    if (better) best = &peer;
  }
  if (best != nullptr) {
    line += none ? per_ten_minutes(best->second)
                 : fmt::format(" {:.3f} ({}) |", best->second.f_measure(), best->first);
  }
  fmt::print("{}\n", line);
  std::fflush(stdout);
}

std::optional<Options> options_of(int argc, char** argv) {
  Options options;
  if (argc < 3) return std::nullopt;
  for (int i = 1; i <= 2; ++i) {
    const std::optional<double> seed = parse_number(argv[i]);
    if (!seed || *seed < 0) return std::nullopt;
    (i == 1 ? options.first : options.last) = static_cast<std::uint64_t>(*seed);
  }
  for (int i = 3; i < argc; ++i) {
    const std::string_view word = argv[i];
    if (word == "--peer") {
      options.peer = true;
    } else if (word == "--each") {
      options.each = true;
    } else {
      options.only = word;
    }
  }
  return options;
}

}  // namespace

int main(int argc, char** argv) {
  const std::optional<Options> options = options_of(argc, argv);
  if (!options) {
    fmt::print(stderr, "beats_sweep FIRST_SEED LAST_SEED [--peer] [--each] [CONDITION]\n");
    return 2;
  }
  fmt::print("| condition | F | F, hints | timing, ms | speed, % |{}\n",
             options->peer ? " aubio's best F |" : "");
  fmt::print("|---|---|---|---|---|{}\n", options->peer ? "---|" : "");
  for (int i = 0; i < field_conditions; ++i) {
    const auto condition = static_cast<FieldCondition>(i);
    if (name_of(condition).find(options->only) == std::string_view::npos) continue;
    Row row;
    for (std::uint64_t seed = options->first; seed <= options->last; ++seed)
      measure(row, condition, seed, *options);
    print_row(condition, row);
  }
  return 0;
}
