use umbrette::document::Document;
use umbrette::scene::freeze::freeze;
#[test]
fn count() {
    for name in ["choir", "rowing-crew"] {
        let d = Document::load(std::path::Path::new(&format!("scenes/{name}.ron"))).unwrap();
        let s = freeze(&d, None).unwrap();
        let e = umbrette::light::transport::Engine::new(&s.stage);
        println!("{name}: {}", e.count());
    }
}
