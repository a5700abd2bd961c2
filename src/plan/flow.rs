//! Maximum flow by blocking flows on level graphs.
//!
//! Owns: the network and the residual reachability that gives a minimum cut. Refuses: any notion of jobs or
//! technicians.

/// A directed network with integer capacities.
pub(super) struct Network {
    /// Edges leaving each node; an edge and its reverse are neighbours in `edges`.
    leaving: Vec<Vec<u32>>,
    edges: Vec<Edge>,
}

struct Edge {
    to: u32,
    left: i32,
}

const UNREACHED: u32 = u32::MAX;

impl Network {
    /// A network of `nodes` nodes and no edges.
    pub fn new(nodes: usize) -> Network {
        Network { leaving: vec![Vec::new(); nodes], edges: Vec::new() }
    }

    /// Adds an edge.
    pub fn connect(&mut self, from: usize, to: usize, capacity: i32) {
        let index = self.edges.len() as u32;
        self.edges.push(Edge { to: to as u32, left: capacity });
        self.edges.push(Edge { to: from as u32, left: 0 });
        self.leaving[from].push(index);
        self.leaving[to].push(index + 1);
    }

    /// Sends as much as possible and returns how much.
    pub fn send(&mut self, source: usize, sink: usize) -> i64 {
        let mut sent = 0;
        loop {
            let levels = self.levels(source);
            if levels[sink] == UNREACHED {
                return sent;
            }
            let mut next = vec![0usize; self.leaving.len()];
            loop {
                let pushed = self.push_along(source, sink, &levels, &mut next);
                if pushed == 0 {
                    break;
                }
                sent += i64::from(pushed);
            }
        }
    }

    /// Which nodes can still be reached: the source side of a minimum cut after [`Network::send`].
    pub fn reachable(&self, source: usize) -> Vec<bool> {
        self.levels(source).into_iter().map(|level| level != UNREACHED).collect()
    }

    fn levels(&self, source: usize) -> Vec<u32> {
        let mut levels = vec![UNREACHED; self.leaving.len()];
        levels[source] = 0;
        let mut queue = vec![source];
        let mut head = 0;
        while let Some(&node) = queue.get(head) {
            head += 1;
            for &edge in &self.leaving[node] {
                let edge = &self.edges[edge as usize];
                if edge.left > 0 && levels[edge.to as usize] == UNREACHED {
                    levels[edge.to as usize] = levels[node] + 1;
                    queue.push(edge.to as usize);
                }
            }
        }
        levels
    }

    /// Sends along one shortest path, skipping edges found useless earlier on this level graph.
    fn push_along(&mut self, source: usize, sink: usize, levels: &[u32], next: &mut [usize]) -> i32 {
        let mut path: Vec<u32> = Vec::new();
        let mut node = source;
        while node != sink {
            match self.leaving[node].get(next[node]) {
                Some(&index) => {
                    let edge = &self.edges[index as usize];
                    if edge.left > 0 && levels[edge.to as usize] == levels[node] + 1 {
                        path.push(index);
                        node = edge.to as usize;
                    } else {
                        next[node] += 1;
                    }
                }
                None => {
                    let Some(index) = path.pop() else {
                        return 0;
                    };
                    node = self.edges[index as usize ^ 1].to as usize;
                    next[node] += 1;
                }
            }
        }
        let amount = path.iter().map(|&index| self.edges[index as usize].left).min().unwrap_or(0);
        for index in path {
            self.edges[index as usize].left -= amount;
            self.edges[index as usize ^ 1].left += amount;
        }
        amount
    }
}
