// Functions that call the service, and schemas that check what is sent and answered.
export default {
  output: 'generated',
  plugins: ['@hey-api/client-fetch', { name: '@hey-api/sdk', validator: true }, 'zod'],
};
