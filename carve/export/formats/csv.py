"""Tables as CSV (RFC 4180, UTF-8), for a spreadsheet or a printer."""

import csv
import io

from carve.export.formats.kinds import TableFormat
from carve.shape.views.kit.table import DataTable


def csv_table(table: DataTable) -> bytes:
    """A table as the content of a CSV file, its columns' names in the first line."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(table.head)
    writer.writerows(table.rows)
    return text.getvalue().encode()


FORMAT = TableFormat(ending=".csv", holds="the table, for a spreadsheet", write=csv_table)
