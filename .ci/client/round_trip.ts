// Reads everything of the demo with the generated client, takes it through the generated schemas, which drop what they do not
// know, and puts it back. Not a byte may change, and no ETag.
import assert from 'node:assert/strict';
import { client } from './generated/client.gen.js';
import * as calls from './generated/sdk.gen.js';
import * as schemas from './generated/zod.gen.js';

const [baseUrl, token] = process.argv.slice(2);
client.setConfig({ baseUrl, auth: token });

// Where the things of a kind are listed, how one is read and put, and the schemas of what is read and of what is put.
const kinds = [
  [calls.listRecipes, calls.getDraft, calls.putDraft, schemas.zGetDraftResponse, schemas.zPutDraftBody],
  [calls.listSites, calls.getSite, calls.putSite, schemas.zGetSiteResponse, schemas.zPutSiteBody],
  [calls.listMenuItems, calls.getMenuItem, calls.putMenuItem, schemas.zGetMenuItemResponse, schemas.zPutMenuItemBody],
  [calls.listIngredients, calls.getIngredient, calls.putIngredient, schemas.zGetIngredientResponse, schemas.zPutIngredientBody],
] as any[];

let count = 0;
for (const [list, read, put, answered, sent] of kinds) {
  const page = await list({ query: { limit: 500 }, throwOnError: true });
  assert.equal(page.data.next, null);
  assert.notEqual(page.data.items.length, 0);
  for (const { code, draft = true } of page.data.items) {
    if (!draft) continue;
    const path = { code };
    const before = await stored(read, path);
    const { data } = await read({ path, throwOnError: true });
    const answer = await put({ path, body: sent.parse(answered.parse(data)), headers: { 'If-Match': before.etag }, throwOnError: true });
    assert.equal(answer.response.status, 200);
    assert.deepEqual(await stored(read, path), before, code);
    count += 1;
  }
}
console.log(`${count} things read and put back`);

// A thing as it is sent, byte by byte, and its ETag.
async function stored(read: any, path: { code: string }) {
  const { data, response } = await read({ path, parseAs: 'text', responseValidator: undefined, throwOnError: true });
  return { text: data as string, etag: response.headers.get('ETag') };
}
