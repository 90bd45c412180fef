//! The table of pulls as a spreadsheet (Office Open XML, ISO/IEC 29500), for people who do not want to be asked about
//! separators: numbers are numbers, moments are dates, a second sheet says what every column means.

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet, XlsxError};

use super::export::{ColumnNote, PULL_COLUMNS, pull_cells};
use crate::domain::{Bag, Notebook, Pull};

/// Rows that a sheet of this kind can hold, its header included.
const ROWS: u32 = 1_048_576;

/// Columns whose cells are words, whatever they look like.
fn is_words(column: &ColumnNote) -> bool {
    matches!(
        column.name,
        "pull_id"
            | "bag_id"
            | "bag"
            | "roaster"
            | "roast_level"
            | "process"
            | "station"
            | "grinder"
            | "machine"
            | "drinker"
            | "pulled_by"
            | "note"
    )
}

/// The table of pulls of the whole notebook (removed records left out) as the bytes of an `.xlsx` file. The same notebook
/// gives the same bytes.
///
/// # Errors
/// One sentence, when there are more pulls than such a file holds or a text is longer than a cell.
pub fn pulls_as_xlsx(notebook: &Notebook) -> Result<Vec<u8>, String> {
    build(notebook).map_err(|fault| say!("exchange-spreadsheet-fault", fault = fault))
}

fn build(notebook: &Notebook) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    // Otherwise the moment of writing would stand in the file.
    let made = ExcelDateTime::from_ymd(2000, 1, 1)?;
    book.set_properties(&DocProperties::new().set_creation_datetime(&made));
    let bold = Format::new().set_bold();
    let moment = Format::new().set_num_format("yyyy-mm-dd hh:mm:ss");

    let sheet = book.add_worksheet();
    sheet.set_name("pulls")?;
    for (at, column) in (0..).zip(PULL_COLUMNS) {
        sheet.write_string_with_format(0, at, column.name, &bold)?;
        sheet.set_column_width(at, (column.name.len() as f64 + 2.0).max(10.0))?;
    }
    sheet.set_freeze_panes(1, 0)?;
    let bags = notebook.bags.iter().filter(|bag| bag.stamp.is_live());
    let pulls = bags.flat_map(|bag| bag.live_pulls().map(move |pull| (bag, pull)));
    for (row, (bag, pull)) in (1..).zip(pulls) {
        if row >= ROWS {
            return Err(XlsxError::RowColumnLimitError);
        }
        write_row(sheet, row, notebook, bag, pull, &moment)?;
    }

    let sheet = book.add_worksheet();
    sheet.set_name("columns")?;
    sheet.write_string_with_format(0, 0, word!("exchange-spreadsheet-column"), &bold)?;
    sheet.write_string_with_format(0, 1, word!("exchange-spreadsheet-meaning"), &bold)?;
    for (row, column) in (1..).zip(PULL_COLUMNS) {
        sheet.write_string(row, 0, column.name)?;
        sheet.write_string(row, 1, column.meaning.word())?;
    }
    sheet.set_column_width(0, 26)?;
    sheet.set_column_width(1, 100)?;
    book.save_to_buffer()
}

fn write_row(
    sheet: &mut Worksheet,
    row: u32,
    notebook: &Notebook,
    bag: &Bag,
    pull: &Pull,
    moment: &Format,
) -> Result<(), XlsxError> {
    // A cell of words is never taken for a formula here, so words stay as they are.
    let cells = pull_cells(notebook, bag, pull, str::to_owned);
    for ((at, column), cell) in (0..).zip(PULL_COLUMNS).zip(cells) {
        if cell.is_empty() {
            continue; // not known
        }
        if column.name == "pulled_at" {
            let time = jiff::tz::TimeZone::UTC.to_datetime(pull.pulled_at);
            let (year, month, day) = (time.year(), time.month(), time.day());
            let part = |n: i8| u8::try_from(n).unwrap_or(0);
            match u16::try_from(year) {
                // Dates before 1900 do not exist in such a file.
                Ok(year) if year >= 1900 => {
                    let date = ExcelDateTime::from_ymd(year, part(month), part(day))?;
                    let second = f64::from(time.second()) + f64::from(time.millisecond()) / 1000.0;
                    let hour = u16::from(part(time.hour()));
                    let date = date.and_hms(hour, part(time.minute()), second)?;
                    sheet.write_datetime_with_format(row, at, &date, moment)?;
                }
                _ => drop(sheet.write_string(row, at, cell)?),
            }
        } else if let Some(number) = cell.parse::<f64>().ok().filter(|n| n.is_finite() && !is_words(column)) {
            sheet.write_number(row, at, number)?;
        } else {
            sheet.write_string(row, at, cell)?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_column_of_words_exists() {
        assert_eq!(PULL_COLUMNS.iter().filter(|column| is_words(column)).count(), 12);
        let bytes = pulls_as_xlsx(&Notebook::default()).unwrap();
        assert_eq!(bytes, pulls_as_xlsx(&Notebook::default()).unwrap());
        assert!(bytes.starts_with(b"PK"), "a zip archive");
    }
}
