fn main(){
  let path=std::env::args().skip(1).find(|a| a.ends_with(".yaml")).unwrap();
  let lib=thawline::protocol::Library::built_in();
  let t=std::time::Instant::now();
  let (s,f)=match thawline::season::read(&path,&std::fs::read(&path).unwrap(),&lib){Ok(x)=>x,Err(e)=>{eprintln!("{e}");std::process::exit(2)}};
  let p=thawline::pipeline::plan(&s,&f);
  match p { Ok(p)=>{eprintln!("{:?}",t.elapsed());println!("{}",serde_json::to_string_pretty(&p).unwrap())} Err(e)=>{eprintln!("{e}")}}
}
