// SPDX-License-Identifier: GPL-3.0-or-later
#include "LiveCheck.h"

#include "Document.h"
#include "JobRunner.h"
#include "Wording.h"

namespace fourbeat::ui {

namespace {
/// How long a project must rest before it is checked.
constexpr int restMs = 250;
}  // namespace

LiveCheck::LiveCheck(Document& document, JobRunner& jobs) : document_(document), jobs_(jobs) {
  delay_.setSingleShot(true);
  delay_.setInterval(restMs);
  delay_.setObjectName(QStringLiteral("live check delay"));
  connect(&delay_, &QTimer::timeout, this, &LiveCheck::start);
  connect(&document, &Document::changed, this, [this] {
    wanted_ = document_.revision();
    delay_.start();
    Q_EMIT updated();
  });
  wanted_ = document.revision();
  delay_.start();
}

void LiveCheck::refresh() {
  checked_.reset();
  delay_.start();
}

void LiveCheck::start() {
  using Answer = std::shared_ptr<const work::Checked>;
  jobs_.run<Answer>(
      tr("Checking the set"), this,
      [project = document_.snapshot(), folder = document_.folder(),
       before = checked_](JobControl& job) -> Result<Answer> {
        Result<work::Checked> checked =
            work::check_project(*project, folder, job, false, before.get());
        if (!checked) return checked.error();
        return std::make_shared<const work::Checked>(std::move(*checked));
      },
      [this, revision = document_.revision()](Result<Answer> answer) {
        if (answer) {
          checked_ = std::move(*answer);
          revision_ = revision;
          trouble_.clear();
        } else {
          trouble_ = errorLine(answer.error());
        }
        Q_EMIT updated();
      },
      QStringLiteral("live check"), JobKind::quiet);
}

}  // namespace fourbeat::ui
