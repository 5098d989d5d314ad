pub mod exact;
