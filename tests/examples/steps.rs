//! Where the time of one rehearsal goes, step by step.
use std::time::Instant;
use umbrette::document::Document;
use umbrette::light::{solve, solve_again};
use umbrette::light::transport::Engine;
use umbrette::reading::read;
use umbrette::scene::freeze::freeze;
use umbrette::scene::edit::{Sort, move_by, things};
fn main() {
    for path in std::env::args().skip(1) {
        let document = Document::load(std::path::Path::new(&path)).expect("loads");
        let s = freeze(&document, None).unwrap();
        let mut which = vec![];
        let mut person = false; for (id, sort) in things(&document) { if matches!(sort, Sort::Panel|Sort::Flash) || (sort == Sort::Person && !std::mem::replace(&mut person, true)) { which.push(id); } }
        for _ in 0..2 {
            let t = Instant::now();
            let e = Engine::new(&s.stage); let a = t.elapsed();
            drop(e);
            let t = Instant::now();
            let (engine, sol) = solve(&s.stage); let b = t.elapsed();
            let t = Instant::now();
            let _ = read(&s, &engine, &sol);
            println!("{path} cold: exchange {a:?} all {b:?} read {:?}", t.elapsed());
            for id in &which {
                let mut d = document.clone();
                move_by(&mut d, std::slice::from_ref(id), glam::DVec2::new(0.1, 0.05));
                let t = Instant::now();
                let s = freeze(&d, None).unwrap(); let f = t.elapsed();
                let t = Instant::now();
                let e = Engine::again(&engine, &s.stage); let a = t.elapsed();
                drop(e);
                let t = Instant::now();
                let (e, sol) = solve_again(&engine, &s.stage); let b = t.elapsed();
                let t = Instant::now();
                let _ = read(&s, &e, &sol);
                println!("  {id:?}: freeze {f:?} again {a:?} all {b:?} read {:?}", t.elapsed());
            }
        }
    }
}
