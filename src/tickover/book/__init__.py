"""The book: entries that are only ever added, the state they fold to, and the store they lie in.

`entries`, `bodies`, `plain`, `index`, `state` and `fold` are pure: no clock, no file, no
database. `store` and what it opens (`database`, `tables`, `statements`, `ledger`, `migrations`,
`opening`, `location`) are the only place that speaks to a database; `exchange` carries a build
from book to book in one zip, `csvfile` and `readings` speak with spreadsheets. The book knows
quantities and errors, nothing of trade tasks.
"""
