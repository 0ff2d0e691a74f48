"""Everything that computes or prints, and nothing that answers HTTP.

`engine` is the calculator, `documents` makes paper and drawings, `models` reads building models, `hooks` tells the
accounts' own systems. The files beside them know queue and store: `tasks` claims, computes and saves, `scheduler` walks
round `relay` (announces runs) and `sweeper` (finds lost ones), `queue` is the Celery application.
"""
