//! The record and the report: what is written is what can be read back, by others' readers too.

mod ccsds;
mod folder;
mod parquet_tables;
mod report_page;
mod summary_schema;
mod synthetic;
