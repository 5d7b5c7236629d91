"""Text in, domain types and findings out: weather, catalogues, plan, records."""

import csv

from pollinet.files import MOST_BYTES

# A cell is never longer than its file: what is wrong in it is told by whoever reads it.
csv.field_size_limit(MOST_BYTES)
