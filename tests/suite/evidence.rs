//! Evidence.
use studbay::evidence::{Confidence, JobRecord, Manner, proof_account, prove};
use studbay::stages::HouseFile;
use studbay::units::UnitSystem;

fn demo() -> String {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/house-as-built.toml");
    std::fs::read_to_string(path).unwrap()
}

#[test]
fn show() {
    let file = HouseFile::from_toml(&demo()).unwrap();
    let record = JobRecord::read(&file).unwrap_or_else(|e| panic!("{e}"));
    let proof = prove(&record, Confidence::default());
    for b in proof_account(&proof, Manner { units: UnitSystem::Ip, currency: "$" }) {
        println!("\n{}", b.title);
        for (l, t) in b.lines { println!("  {l}: {t}"); }
    }
}
