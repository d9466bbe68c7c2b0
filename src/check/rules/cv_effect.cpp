// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/model/cv_targets.h"
#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

namespace fourbeat::check {

namespace {

using model::CvEffect;
using model::CvTarget;

bool same_target(const CvEffect& a, const CvEffect& b) {
  return a.target == b.target && a.sound == b.sound && a.layer == b.layer && a.state == b.state &&
         a.trigger == b.trigger;
}

/// An effect of one CV, and where to tell of it.
class Look {
 public:
  Look(const model::Project& project, const model::Cv& cv, Snags& out)
      : project_(project),
        cv_(cv),
        pointer_(store::pointer_of(project, cv.id) + "/effect"),
        out_(out) {}

  void range() const {
    const CvEffect& effect = *cv_.effect;
    const model::MemberRule rule = model::range_of(project_, effect);
    const CvEffect fresh;  // what a file leaves out
    end("at_0", effect.at_0, fresh.at_0, rule);
    end("at_255", effect.at_255, fresh.at_255, rule);
  }

  void use() const {
    const CvEffect& effect = *cv_.effect;
    const bool duties = effect.target == CvTarget::duties || effect.target == CvTarget::duty_pace;
    if (duties && !project_.duties) {
      tell(pointer_ + "/target", "the set has no duties, so that it does nothing",
           "give the set duties, or remove the effect");
    }
    const model::OwnState* state = model::find(project_, effect.state);
    if (effect.target == CvTarget::state_speed && state != nullptr && !state->from_kmh &&
        !state->below_kmh) {
      tell(pointer_ + "/target",
           fmt::format("{} asks for no speed, so that it does nothing", label_of(*state)),
           "give the state a speed, or remove the effect");
    }
  }

  void others() const {
    for (const model::Cv& other : project_.cvs) {
      if (&other == &cv_) break;
      if (!other.effect || !same_target(*other.effect, *cv_.effect)) continue;
      tell(pointer_ + "/target",
           fmt::format("{} at {} changes the same, and the one written last wins", label_of(other),
                       store::pointer_of(project_, other.id)),
           "leave the effect to one of them");
    }
  }

 private:
  void end(const char* member, double figure, double fresh, const model::MemberRule& rule) const {
    if (figure >= rule.low && figure <= rule.high) return;
    tell(figure == fresh ? pointer_ : pointer_ + "/" + member,
         fmt::format("{} is {}, but {} may be {} to {}, and is held to it", member, figure,
                     word_of(cv_.effect->target), rule.low, rule.high),
         "give a figure inside that range");
  }
  void tell(std::string pointer, std::string message, const char* mend) const {
    out_.push_back({"cv_effect", Severity::warning, std::move(pointer), label_of(cv_),
                    std::move(message), mend});
  }

  const model::Project& project_;
  const model::Cv& cv_;
  std::string pointer_;
  Snags& out_;
};

}  // namespace

void cv_effect(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  for (const model::Cv& cv : project.cvs) {
    if (!cv.effect) continue;
    const Look look(project, cv, out);
    look.range();
    look.use();
    look.others();
  }
}

}  // namespace fourbeat::check
