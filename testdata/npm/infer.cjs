// Exact inference with bayesjs. Reads [{network, evidence, queries: [[node, state]]}]
// as JSON on standard input; writes, for each, the posterior of each query.
'use strict'

const { inferences } = require('bayesjs')

let text = ''
process.stdin.setEncoding('utf8')
process.stdin.on('data', (part) => { text += part })
process.stdin.on('end', () => {
  const answers = JSON.parse(text).map(({ network, evidence, queries }) =>
    queries.map(([node, state]) => inferences.junctionTree.infer(network, { [node]: state }, evidence)))
  process.stdout.write(JSON.stringify(answers))
})
