"""A van in good order, typed by hand: what tests start from."""

from __future__ import annotations

# All facts said, everything fitted, every paper in date on 1 August 2026.
GOOD = """
inspector add "A. Fitter" --scope lpg-leisure-vehicle --register-no 12345 --from 2015-01-01
inspector add "E. Tester" --scope extinguisher --from 2015-01-01
van add V01 --plate "QI24 QIQ" --jurisdiction gb --test-class motor-caravan --first-registered 2024-05-01 --in-service-from 2024-05-10 --max-mass 3500kg --front-axle-mass 1850kg --rear-axle-mass 2000kg --height 2900mm --wheelbase 4035mm --axles single --spare kit --lpg --no-mains --rack --no-gas-alarm --gas-hose-at locker --appliance hob,heater
fit V01 tyre front-left --made 0524 --on 2024-05-01 --load-index 112 --speed-symbol R --cold-pressure 65psi
fit V01 tyre front-right --made 0524 --on 2024-05-01 --load-index 112 --speed-symbol R --cold-pressure 65psi
fit V01 tyre rear-left --made 0524 --on 2024-05-01 --load-index 112 --speed-symbol R --cold-pressure 65psi
fit V01 tyre rear-right --made 0524 --on 2024-05-01 --load-index 112 --speed-symbol R --cold-pressure 65psi
fit V01 smoke-alarm --made 2024-01 --on 2024-05-01
fit V01 co-alarm --made 2024-01 --on 2024-05-01 --type en-50291-2
fit V01 extinguisher --made 2024-01 --type powder --on 2024-05-01
fit V01 fire-blanket --on 2024-05-01
fit V01 first-aid-kit --replace-by 2029-01 --on 2024-05-01
fit V01 gas-hose locker --made 2024-01 --on 2024-05-01
fit V01 regulator --made 2024-01 --on 2024-05-01
fit V01 appliance hob --on 2024-05-01
fit V01 appliance heater --on 2024-05-01
fit V01 bike-rack --rating 60kg --own-mass 15kg --behind-rear-axle 1900mm --on 2024-05-01
record V01 gas-safety --on 2025-08-10 --pass --by "A. Fitter" --certificate G1
record V01 rack --on 2026-05-01 --pass --by "B. Smith"
record V01 extinguisher-basic --on 2026-05-01 --pass --by "E. Tester"
record V01 habitation --on 2026-04-01 --pass --by "B. Smith"
record V01 chassis --on 2026-04-01 --pass --by "B. Smith"
record V01 water --on 2026-04-01 --pass --by "B. Smith"
record V01 brake-fluid --on 2026-04-01 --pass --by "B. Smith"
record V01 insurance --on 2026-04-01 --from 2026-04-01 --last-day 2028-03-31
record V01 tax --on 2026-04-01 --from 2026-04-01 --last-day 2028-03-31
"""
TREAD = " ".join(
    f"--reading tread:{place}=6.1mm"
    for place in ("front-left", "front-right", "rear-left", "rear-right")
)
# A firm's own file: who may waive, and an item of comfort that stops a hire and may be waived.
WAIVES = """
[settings]
may_waive = ["C. Jones"]
[event.scrape]
title = "scrape"
[check.scrape]
title = "scrape looked at"
[rule.scrape]
title = "scrape"
kind = "after"
checks = ["scrape"]
blocks = "yes"
starts = "event"
needs_van = true
by = { who = "named" }
remedy = { sort = "check", what = "scrape" }
waivable = ["not done"]
if_out = "A scrape was not looked at yet."
[[rule.scrape.version]]
from = 2000-01-01
old_checks = "keep"
events = ["scrape"]
source = { title = "the firm's own rule", clause = "", grade = "firm", seen = "read" }
"""
